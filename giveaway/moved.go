package giveaway

import "time"

// A MovedMoment is a time of the terms whose announced wall time no longer
// means the announced instant, because the zone's rules were changed, or this
// computer learned of it, since.
type MovedMoment struct {
	Field string      // opens, closes or event
	Said  Moment      // as announced; its instant stands
	Shows string      // what the zone's clocks will show at that instant, as Moment.Local
	Means []time.Time // when they will show the announced wall time: never, once or twice; UTC
}

// Moved lists the times of the terms that newer zone data move, in the order
// opens, closes, event. Nothing changes by itself: what was posted is the
// instant. A zone that is not known here says nothing.
func Moved(t Terms) []MovedMoment {
	var all []MovedMoment
	for _, one := range []struct {
		field string
		m     Moment
	}{{"opens", t.Opens}, {"closes", t.Closes}, {"event", t.Event}} {
		loc, err := LoadZone(one.m.Zone)
		if err != nil || one.m.UTC.IsZero() || !one.m.Drifted() {
			continue
		}
		moved := MovedMoment{Field: one.field, Said: one.m, Shows: printLocal(one.m.UTC.In(loc))}
		if wall, _, err := parseLocal(one.m.Local); err == nil {
			moved.Means = Readings(wall, loc)
		}
		all = append(all, moved)
	}
	return all
}
