package draw

import "strings"

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
		return lineErrorf("revision", "want revision %d after revision %d", old.Revision+1, old.Revision)
	case new.Replaces != Hash(old.Text()):
		return lineErrorf("replaces", "want replaces %s, the hash of revision %d", Hash(old.Text()), old.Revision)
	case string(same.Text()) != string(old.Text()):
		key, was := firstChange(old.Text(), same.Text())
		if was == "" {
			return lineErrorf(key, "want no such line: a revision changes closes, event and rules only")
		}
		return lineErrorf(key, "want %q as it was: a revision changes closes, event and rules only", was)
	case len(changes(old, new)) == 0:
		return lineErrorf("revision", "want a change: a revision changes at least one of closes, event and rules")
	case new.Closes.Before(old.Closes):
		return lineErrorf("closes", "want closes not before %s: a revision moves it to a later time only", FormatTime(old.Closes))
	case new.Event.Before(old.Event):
		return lineErrorf("event", "want event not before %s: a revision moves it to a later time only", FormatTime(old.Event))
	case old.Revision > 1 && !new.Revised.After(old.Revised):
		return lineErrorf("revised", "want revised later than %s, the revised before", FormatTime(old.Revised))
	case !new.Revised.Before(new.Event):
		return lineErrorf("revised", "want revised before its own event, %s", FormatTime(new.Event))
	}
	return nil
}

// firstChange is the first line of new that is not as in old, and what stands
// there in old; "" is no line.
func firstChange(old, new []byte) (key, was string) {
	a, b := strings.Split(string(old), "\n"), strings.Split(string(new), "\n")
	for i := range max(len(a), len(b)) {
		if i < len(a) {
			was = a[i]
		}
		if i >= len(b) || i >= len(a) || a[i] != b[i] {
			if i < len(b) {
				key, _, _ = strings.Cut(b[i], " ")
			}
			if fields := strings.Fields(was); key == "seal" && len(fields) > 1 {
				key += " " + fields[1]
			}
			return key, was
		}
	}
	return "", ""
}
