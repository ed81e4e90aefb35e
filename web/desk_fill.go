package web

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenhand/giveaway"
	"evenhand/sizing"
)

// formOf fills the form from terms. [termsForm.onto] leads back to the same
// terms; a test holds the two together.
func formOf(t giveaway.Terms) termsForm {
	f := newForm()
	f.Draw, f.DrawProposed = t.Draw, t.Draw
	f.Title, f.Prize, f.Value, f.Channel, f.Host = t.Title, t.Prize, t.Value, t.Channel, t.Host
	if t.Title == headingOf(t.Prize) {
		f.Title = "" // it goes on following the prize
	}
	f.Sponsor, f.SponsorAddress = t.Sponsor, t.SponsorAddress
	f.disclosureOf(t)
	if t.Worth != nil {
		f.WorthSum, f.WorthCurrency = fmt.Sprintf("%d.%02d", t.Worth.Cents/100, t.Worth.Cents%100), t.Worth.Currency
	}
	f.Winners, f.Alternates = strconv.Itoa(t.Winners), strconv.Itoa(t.Alternates)
	f.AnswerDays, f.LockMinutes, f.MinAge = strconv.Itoa(t.AnswerDays), strconv.Itoa(t.LockMinutes), strconv.Itoa(t.MinAge)
	f.KeepDays = numberOr(t.KeepDays, "")
	f.Steps, f.Paragraphs, f.Rules, f.Follows, f.Number = t.Steps, t.Paragraphs, t.Rules, t.Follows, t.Beacon != giveaway.BeaconNone
	f.StepKinds, f.Filed = setOf(t.StepKinds), setOf(t.Filed)
	f.whenOf(t)
	f.whoOf(t)
	f.listsOf(t)
	return f
}

func (f *termsForm) whenOf(t giveaway.Terms) {
	f.Zone, f.Opens, f.Closes, f.Event = t.Event.Zone, t.Opens.Local, t.Closes.Local, t.Event.Local
	if t.Opens.Zone != f.Zone {
		f.OpensZone = t.Opens.Zone
	}
	if t.StartsAtPosting() {
		f.Opens = ""
	}
	if t.Closes.Zone != f.Zone {
		f.ClosesZone = t.Closes.Zone
	}
	f.OpensWhich, f.ClosesWhich, f.EventWhich = whichOf(t.Opens), whichOf(t.Closes), whichOf(t.Event)
}

func (f *termsForm) whoOf(t giveaway.Terms) {
	r := t.Region
	f.Live, f.NotLive = strings.Join(r.Live, ", "), strings.Join(r.NotLive, ", ")
	f.Ship, f.NotShip = strings.Join(r.Ship, ", "), strings.Join(r.NotShip, ", ")
	f.AlaskaHawaii, f.Territories, f.Military = r.AlaskaHawaii, r.Territories, r.Military
	f.FreelyAssociated, f.Friend, f.Carriers = r.FreelyAssociated, r.Friend, t.Carriers
	f.barredOf(t)
}

func (f *termsForm) listsOf(t giveaway.Terms) {
	if t.Sizes != nil {
		f.Scale, f.Ranges = strconv.Itoa(int(t.Sizes.Scale)), rangesOf(t.Sizes.Run)
	}
	for _, q := range t.Questions {
		f.Questions = append(f.Questions, questionForm{q.Key, q.Label, q.Kind, strings.Join(q.Choices, "\n"), q.Required})
	}
	for _, s := range t.Seconds {
		f.Seconds = append(f.Seconds, secondForm{s.Role, s.Who, s.Hash.String()})
	}
}

// rangesOf fills a row for each range, and one for half sizes with the whole
// ones that follow them.
func rangesOf(run sizing.Run) []rangeForm {
	var rows []rangeForm
	for i, r := range run {
		if i > 0 && rows[len(rows)-1].Whole == "" && follows(run[i-1], r) {
			rows[len(rows)-1].Whole = r.To.String()
			continue
		}
		var except []string
		for _, h := range r.Except {
			except = append(except, h.String())
		}
		rows = append(rows, rangeForm{System: string(r.System), From: r.From.String(), To: r.To.String(), Step: r.Step, Widths: strings.Join(r.Widths, ", "), Except: strings.Join(except, ", ")})
	}
	return rows
}

// follows reports whether whole sizes go on right behind half ones.
func follows(a, b sizing.Range) bool {
	return a.System == b.System && a.Step == sizing.HalfSteps && b.Step == sizing.WholeSteps && slices.Equal(a.Widths, b.Widths) &&
		b.From == a.To+2-a.To%2 && b.To >= b.From && b.To%2 == 0 && len(b.Except) == 0
}

func setOf(list []string) map[string]bool {
	set := map[string]bool{}
	for _, one := range list {
		set[one] = true
	}
	return set
}

func numberOr(n int, none string) string {
	if n == 0 {
		return none
	}
	return strconv.Itoa(n)
}

// whichOf is which of two equal wall times a moment means, "" where there is
// only one.
func whichOf(m giveaway.Moment) string {
	for which := 1; which <= 2; which++ {
		one, err := giveaway.ParseMoment(m.Local, m.Zone, which)
		plain, plainErr := giveaway.ParseMoment(m.Local, m.Zone, 0)
		if err == nil && (plainErr != nil || !plain.UTC.Equal(one.UTC)) && one.UTC.Equal(m.UTC) {
			return strconv.Itoa(which)
		}
	}
	return ""
}

// nextFrom begins the form of a giveaway like an earlier one. What belongs to
// the earlier one alone is left out: its name, its times, the others' secrets,
// its rules as they were written. Cancelled tells that the earlier one was
// called off with no other to follow it.
func nextFrom(t giveaway.Terms, follows bool) termsForm {
	was := t.Draw
	t.Draw, t.Rules, t.RulesWritten, t.Follows = "", "", false, ""
	if follows {
		t.Follows = was
	}
	zone := t.Event.Zone
	t.Opens, t.Closes, t.Event = giveaway.Moment{}, giveaway.Moment{}, giveaway.Moment{Zone: zone}
	seconds := slices.Clone(t.Seconds)
	t.Seconds = nil
	f := formOf(t)
	f.OpensZone, f.ClosesZone = "", ""
	for _, s := range seconds {
		f.Seconds = append(f.Seconds, secondForm{Role: s.Role, Who: s.Who})
	}
	return f
}
