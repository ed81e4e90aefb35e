package web

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// onto puts what was typed into terms. What can't be read is a problem beside
// its field; whether the rest makes sense is for the terms to say. Of the terms
// that were there only what no form has stays: when their rules were written.
func (f termsForm) onto(was giveaway.Terms) (giveaway.Terms, giveaway.Problems) {
	r := formReader{}
	opens, closes, event := r.zone(f.zoneOf("opens")), r.zone(f.zoneOf("closes")), r.zone(f.Zone)
	t := giveaway.Terms{
		Draw: f.Draw, Channel: f.Channel, Host: f.Host, Title: f.Heading(), Prize: f.Prize, Value: f.Value,
		Sponsor: f.Sponsor, SponsorAddress: f.SponsorAddress, Worth: r.worth(f.WorthSum, f.WorthCurrency), Disclosure: f.disclosure(&r),
		Opens:   r.moment("opens", taken(f.Opens, f.OpensTake, opens), opens, f.OpensWhich),
		Closes:  r.moment("closes", taken(f.Closes, f.ClosesTake, closes), closes, f.ClosesWhich),
		Event:   r.moment("event", taken(f.Event, f.EventTake, event), event, f.EventWhich),
		Winners: r.number("winners", f.Winners), Alternates: r.number("alternates", f.Alternates),
		AnswerDays: r.number("answer_days", f.AnswerDays), LockMinutes: r.number("lock_minutes", f.LockMinutes),
		KeepDays: r.numberOrNone("keep_days", f.KeepDays), MinAge: r.number("min_age", f.MinAge),
		Sizes: f.sizes(&r), Region: f.region(&r), Carriers: f.Carriers,
		Barred: f.barred(), BarredTick: f.BarredTick && len(f.barred()) > 0,
		Steps: f.Steps, StepKinds: listOf(f.StepKinds, giveaway.StepKinds), Questions: f.questions(),
		Filed: listOf(f.Filed, giveaway.Filings), Seconds: f.seconds(&r), Beacon: giveaway.BeaconQuicknet,
		Follows: f.Follows, Paragraphs: f.Paragraphs, Rules: f.Rules,
	}
	if !f.Number {
		t.Beacon = giveaway.BeaconNone
	}
	if strings.TrimSpace(t.Rules) == "" {
		t.Rules = ""
	} else if t.Rules == was.Rules {
		t.RulesWritten, t.RulesDate = was.RulesWritten, was.RulesDate
	}
	return t, r.problems
}

// zoneOf is the zone of one of the three times.
func (f termsForm) zoneOf(field string) string {
	own := map[string]string{"opens": f.OpensZone, "closes": f.ClosesZone}[field]
	if own != "" {
		return own
	}
	return f.Zone
}

func (f termsForm) region(r *formReader) eligibility.Region {
	return eligibility.Region{
		Live: r.countries("live", f.Live), NotLive: r.states("not_live", f.NotLive),
		Ship: r.countries("ship", f.Ship), NotShip: r.states("not_ship", f.NotShip),
		AlaskaHawaii: f.AlaskaHawaii, Territories: f.Territories, Military: f.Military, FreelyAssociated: f.FreelyAssociated, Friend: f.Friend,
	}
}

// sizes reads all rows of sizes; none is a prize without sizes.
func (f termsForm) sizes(r *formReader) *giveaway.SizeTerms {
	if len(f.Ranges) == 0 {
		return nil
	}
	s := &giveaway.SizeTerms{Scale: sizing.Scale(r.number("scale", f.Scale))}
	for i, row := range f.Ranges {
		g := r.sizes(fmt.Sprintf("run_%d", i), row)
		s.Run = append(s.Run, g)
		if row.Whole != "" {
			s.Run = append(s.Run, r.wholeSizes(fmt.Sprintf("run_%d_whole", i), g, row.Whole))
		}
	}
	return s
}

// ownRows names the form's row for each problem of a range of the terms: a row
// with whole sizes behind it holds two.
func (f termsForm) ownRows(problems giveaway.Problems) giveaway.Problems {
	var rows []string
	for i, row := range f.Ranges {
		rows = append(rows, fmt.Sprintf("run_%d_", i))
		if row.Whole != "" {
			rows = append(rows, fmt.Sprintf("run_%d_whole", i))
		}
	}
	var own giveaway.Problems
	for _, p := range problems {
		m := formRow.FindStringSubmatch(p.Field)
		if m == nil || m[1] != "run" {
			own = append(own, p)
			continue
		}
		rest := p.Field[len(m[0]):]
		switch n, _ := strconv.Atoi(m[2]); {
		case n >= len(rows):
		case !strings.HasSuffix(rows[n], "_whole"):
			p.Field = rows[n] + rest
		case rest == "widths":
			continue // they are the row's own, of which it is said already
		default:
			p.Field = rows[n]
		}
		own = append(own, p)
	}
	return own
}

// questions gives each new question a key of its own, from its words.
func (f termsForm) questions() []giveaway.Question {
	var list []giveaway.Question
	used := map[string]bool{}
	for _, q := range f.Questions {
		used[q.Key] = true
	}
	for _, q := range f.Questions {
		kind := q.Kind
		if kind == "" {
			kind = giveaway.KindText
		}
		if q.Key == "" {
			q.Key = freeKey(q.Label, used)
		}
		list = append(list, giveaway.Question{Key: q.Key, Label: q.Label, Kind: kind, Choices: splitLines(q.Choices), Required: q.Required})
	}
	return list
}

// freeKey makes a key of a–z, 0–9 and _ that is not used yet.
func freeKey(label string, used map[string]bool) string {
	key := strings.ReplaceAll(slug(label, 24), "-", "_")
	if key == "" || key[0] < 'a' || key[0] > 'z' {
		key = strings.TrimSuffix("question_"+key, "_")
	}
	for n, base := 2, key; used[key]; n++ {
		key = fmt.Sprintf("%s_%d", base, n)
	}
	used[key] = true
	return key
}

// roleOr is the role, or one made from who holds the secret.
func (s secondForm) roleOr() string {
	if s.Role != "" {
		return s.Role
	}
	return slug(s.Who, 32)
}

func (f termsForm) seconds(r *formReader) []giveaway.Second {
	var list []giveaway.Second
	for i, s := range f.Seconds {
		hash, err := draw.ParseDigest(strings.ToLower(s.Hash))
		if err != nil && s.Hash != "" {
			r.add(fmt.Sprintf("second_%d_hash", i), "Paste the fingerprint as their page shows it: 64 characters, 0–9 and a–f.")
		}
		list = append(list, giveaway.Second{Role: s.roleOr(), Who: s.Who, Hash: hash})
	}
	return list
}

// listOf lists what was chosen, in the known order.
func listOf(set map[string]bool, known []string) []string {
	return slices.DeleteFunc(slices.Clone(known), func(k string) bool { return !set[k] })
}
