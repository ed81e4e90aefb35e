package draw

import "fmt"

// A change is one line in which a revision differs from the opening before.
type change struct{ key, old, new string }

// changes lists what a revision may change and does.
func changes(old, new Opening) []change {
	var out []change
	add := func(key, a, b string) {
		if a != b {
			out = append(out, change{key, a, b})
		}
	}
	add("closes", FormatTime(old.Closes), FormatTime(new.Closes))
	add("event", FormatTime(old.Event), FormatTime(new.Event))
	add("rules", old.Rules.String(), new.Rules.String())
	return out
}

// CheckRevision tells whether an opening may replace the one before it: it
// changes at least one of closes, event (both only to a later time) and rules,
// and nothing else. The protocol, opening.txt.
func CheckRevision(old, new Opening) error {
	same := new
	same.Revision, same.Replaces, same.Revised = old.Revision, old.Replaces, old.Revised
	same.Closes, same.Event, same.Rules = old.Closes, old.Event, old.Rules
	switch {
	case new.Revision != old.Revision+1:
		return fmt.Errorf("want revision %d after revision %d", old.Revision+1, old.Revision)
	case new.Replaces != Hash(old.Text()):
		return fmt.Errorf("want replaces %s, the hash of revision %d", Hash(old.Text()), old.Revision)
	case string(same.Text()) != string(old.Text()):
		return fmt.Errorf("a revision changes closes, event and rules only")
	case len(changes(old, new)) == 0:
		return fmt.Errorf("a revision changes at least one of closes, event and rules")
	case new.Closes.Before(old.Closes), new.Event.Before(old.Event):
		return fmt.Errorf("a revision moves closes and event to a later time only")
	case old.Revision > 1 && !new.Revised.After(old.Revised):
		return fmt.Errorf("want revised later than %s, the revised before", FormatTime(old.Revised))
	case !new.Revised.Before(new.Event):
		return fmt.Errorf("want revised before its own event, %s", FormatTime(new.Event))
	}
	return nil
}
