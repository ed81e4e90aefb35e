package web

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"evenhand/cautions"
	"evenhand/draw"
	"evenhand/giveaway"
)

// A changeRow is one change of the posted terms.
type changeRow struct {
	At   Stamp
	Text string
}

// changes are all changes of the posted terms, old beside new, by time.
func (s *Site) changes(g giveaway.Giveaway) []changeRow {
	if g.Revision < 2 {
		return nil
	}
	all, zone := append(s.openings(g), g.Opening), g.Terms.Event.Zone
	var rows []changeRow
	for i := 1; i < len(all); i++ {
		rows = append(rows, changeRow{stamp("", all[i].Revised, zone), changedWords(all[i-1], all[i], zone)})
	}
	return rows
}

// alongside adds to the day-book what stands beside the moves: what there is
// to read before posting, the sheet to keep, and the log.
func (d *desk) alongside(c echo.Context, p *dayPage) error {
	if p.G.State == giveaway.StateDraft {
		if err := d.before(c, p); err != nil {
			return err
		}
	} else {
		p.Kept = keptAsk(p.G)
		if d.cfg.Event != nil && p.G.State != giveaway.StateCancelled && p.Next.Path != p.path("show") && !slices.ContainsFunc(p.More, func(s step) bool { return s.Path == p.path("show") }) {
			p.More = append(p.More, step{"Get ready for the show", p.path("show")})
		}
		p.More = append(p.More, step{"What to put under the video", p.path("spread")})
		p.sheetNext(now(c))
		p.add("Sheet kept", "You said that you have kept the recovery sheet.", p.G.Kept)
	}
	if err := d.dataDay(c, p); err != nil {
		return err
	}
	if err := d.logged(c, p); err != nil {
		return err
	}
	slices.SortStableFunc(p.Rows, func(a, b dayRow) int { return b.at.Compare(a.at) })
	return nil
}

// sheetNext leads to the recovery sheet: first of all while nobody has said that
// it is kept and nothing else is to be done.
func (p *dayPage) sheetNext(at time.Time) {
	sheet := step{"Recovery sheet", p.path("sheet")}
	if phase := p.G.Phase(at); p.Kept == nil || phase != giveaway.PhaseSoon && phase != giveaway.PhaseTaking {
		p.More = append(p.More, sheet)
		return
	}
	if p.Next.Text != "" {
		p.More = append([]step{p.Next}, p.More...)
	}
	p.Next = step{"Keep the recovery sheet", sheet.Path}
}

// before is what leads to posting: rules, what to look at, a preview, then the
// button. A draft that can't be posted any more keeps its own next step.
func (d *desk) before(c echo.Context, p *dayPage) error {
	rows, err := d.cautionRows(c, p.G)
	if err != nil || p.Next.Path != p.path("post") {
		return err
	}
	unread := countUnread(rows)
	p.More = append(p.More, step{"See how the rules read", p.path("rules")}, step{"Try the entry page", p.path("preview")})
	if unread > 0 {
		p.Next = step{"Read what to look at", p.path("cautions")}
		p.Lead = toLookAt(len(rows), unread) + ", then it can be posted. Until then nobody but you sees it."
		return nil
	}
	p.More = append(p.More, step{"What there was to look at", p.path("cautions")})
	return nil
}

// toLookAt counts the things to look at: all of them, or those that are left.
func toLookAt(all, unread int) string {
	words := capitalized(many(int64(unread), "thing", "things")) + " to look at first"
	if unread < all {
		words = capitalized(many(int64(unread), "thing is", "things are")) + " left to look at, of " + number(int64(all))
	}
	return words
}

// logged adds the log. Of the cautions only those stand alone that somebody
// went on past, with the reason; the others are one row.
func (d *desk) logged(c echo.Context, p *dayPage) error {
	ctx := c.Request().Context()
	read, err := d.cfg.Host.CautionsRead(ctx, p.G.ID)
	if err != nil {
		return err
	}
	about := map[string]string{}
	for _, one := range cautions.For(p.G.Terms, now(c)) {
		about[one.Mark.String()] = one.Why
	}
	things := map[string]bool{} // a thing whose text changed with the terms is one
	var last giveaway.CautionRead
	marks := slices.SortedFunc(maps.Keys(read), func(a, b draw.Digest) int {
		return cmp.Or(read[a].At.Compare(read[b].At), cmp.Compare(a.String(), b.String()))
	})
	for _, mark := range marks {
		r := read[mark]
		things[r.Code] = true
		if r.Why != "" {
			p.add("You went on", strings.TrimSpace(about[mark.String()]+" You went on: “"+r.Why+"”"), r.At)
		}
		if r.At.After(last.At) {
			last = r
		}
	}
	p.add("Looked at", capitalized(many(int64(len(things)), "thing", "things"))+" that came up from your terms.", last.At)
	for _, l := range p.log {
		if strings.HasPrefix(l.What, draftChanged) {
			p.add("Terms changed", l.What, l.At)
			continue
		}
		// the store's own lines are codes, which have rows of their own above
		if first, _ := utf8.DecodeRuneInString(l.What); !unicode.IsLower(first) {
			p.add("Noted", l.What, l.At)
		}
	}
	return nil
}
