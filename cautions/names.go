package cautions

import (
	"math/big"
	"slices"
	"strings"
	"time"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// kinds are the names that a rule may use. Most are those of testdata/facts/law.md.
var kinds = map[string]kind{
	"entry.methods": isList, "entry.free_alternative": isBool, "entry.equal_odds": isBool,
	"entry.review_rating_required": isBool, "entry.removed_without_reason": isBool,
	"allow.min_age": isNumber, "allow.states": isList, "allow.provinces": isList, "allow.au_states": isList,
	"allow.countries": isList, "allow.restricted": isBool,
	"rules.own": isBool, "rules.address": isBool, "rules.worth": isBool, "rules.arv": isBool, "rules.prize_count": isBool,
	"rules.odds": isBool, "rules.regional_split": isBool, "rules.winners_list": isBool, "rules.entrant_disclosure": isBool,
	"rules.guardian_step": isBool, "rules.skill_question": isBool, "rules.lang_fr": isBool,
	"rules.changed_after_opening": isBool, "closes_changed_after_opening": isBool,
	"award.year": isNumber, "winner.year_total_usd": isNumber, "tax.threshold": isNumber, "tax.known_until": isNumber,
	"total_arv_usd": isNumber, "total_arv_aud": isNumber, "days_to_open": isNumber, "filings": isList,
	"collect.fields": isList, "phase.entry": isBool, "sponsor": isBool, "stream.disclosure": isBool,
	"sponsor.retail_in_RI": isBool, "mail.marketing": isBool, "retention.days": isBool,
	"draw.verifiable": isBool, "draw.observer_independent": isBool, "unjudged": isBool,
	"host.contact": isBool,
}

// methods are the ways of entering that each kind of step may mean.
var methods = map[string][]string{
	giveaway.StepFollow: {"like", "follow", "subscribe"},
	giveaway.StepShare:  {"post", "share"},
	giveaway.StepReview: {"review"},
	giveaway.StepRefer:  {"refer"},
	giveaway.StepPay:    {"purchase", "donate", "paid_membership", "tip"},
}

// facts reads the values and the words for them from terms, which were
// perhaps other terms before.
func facts(was, t giveaway.Terms, now time.Time) (env, map[string]string) {
	e := env{
		// Settled by what the programs do, whatever the terms say.
		"entry.free_alternative": true, "entry.equal_odds": true, "entry.review_rating_required": false,
		"entry.removed_without_reason": false, "phase.entry": true, "mail.marketing": false,
		"rules.guardian_step": false, "rules.lang_fr": false,
		"draw.observer_independent": false,
		"sponsor.retail_in_RI":      true, // only people know; so it is asked

		"entry.methods": []string{"free_form"}, "filings": t.Filed, "sponsor": t.Sponsor != "",
		"host.contact":      t.Host != "",
		"stream.disclosure": t.Disclosure != "", "retention.days": t.DaysKept() > 0,
		"draw.verifiable": t.Beacon == giveaway.BeaconQuicknet,
		"allow.min_age":   number(int64(t.MinAge)),
	}
	for _, kind := range t.StepKinds {
		e["entry.methods"] = append(e["entry.methods"].([]string), methods[kind]...)
	}
	e.places(t.Region)
	e.rules(t)
	e.money(t)
	e.times(was, t, now)
	words := e.questions(t.Questions)
	describe(words, t)
	return e, words
}

// places lists where people may live.
func (e env) places(r eligibility.Region) {
	in := func(country string) (codes []string) {
		for _, s := range eligibility.States(country) {
			if r.DecideLive(eligibility.Place{Country: country, State: s.Code}).OK {
				codes = append(codes, s.Code)
			}
		}
		return codes
	}
	e["allow.states"], e["allow.provinces"] = in("US"), in("CA")
	var countries []string
	for _, c := range eligibility.Countries() {
		if len(r.Live) == 0 || slices.Contains(r.Live, c.Code) {
			countries = append(countries, c.Code)
		}
	}
	e["allow.countries"], e["allow.restricted"] = countries, len(r.Live) > 0
	e["allow.au_states"] = []string(nil)
	if slices.Contains(countries, "AU") { // no term names states there
		e["allow.au_states"] = []string{"ACT", "NSW", "NT", "QLD", "SA", "TAS", "VIC", "WA"}
	}
}

// rules says what the rules print. Of a text of one's own nothing is known.
func (e env) rules(t giveaway.Terms) {
	own := t.Rules != "" && !t.RulesWritten
	e["rules.own"] = own
	e["rules.skill_question"] = t.PromisesSkill() // claims go by the same
	e["rules.address"], e["rules.worth"] = t.SponsorAddress != "", t.Worth != nil
	e["rules.arv"] = !own && (t.Worth != nil || t.Value != "")
	for _, name := range []string{"prize_count", "odds", "regional_split", "winners_list", "entrant_disclosure"} {
		e["rules."+name] = !own // giveaway's tests see to each
	}
}

// money gives the sums, where they are in the currency that counts.
func (e env) money(t giveaway.Terms) {
	total := t.Total()
	if total == nil {
		return
	}
	switch total.Currency {
	case "USD":
		e["total_arv_usd"], e["winner.year_total_usd"] = big.NewRat(total.Cents, 100), big.NewRat(t.Worth.Cents, 100)
	case "AUD":
		e["total_arv_aud"] = big.NewRat(total.Cents, 100)
	}
}

// times gives the year of the prize, the days that are left, and what changed.
func (e env) times(was, t giveaway.Terms, now time.Time) {
	year := inZone(t.Event, t.Event.UTC).Year()
	limit, _ := TaxThreshold(year)
	e["award.year"], e["tax.threshold"] = number(int64(year)), number(limit)
	e["tax.known_until"] = number(int64(TaxKnownUntil()))
	e["days_to_open"] = number(days(inZone(t.Opens, now), inZone(t.Opens, t.Opens.UTC)))
	began := !now.Before(was.Opens.UTC)
	e["rules.changed_after_opening"] = began && (was.Rules != t.Rules || was.Paragraphs != t.Paragraphs)
	e["closes_changed_after_opening"] = began && !was.Closes.UTC.Equal(t.Closes.UTC)
}

// inZone is an instant as the clocks of a moment's zone show it.
func inZone(m giveaway.Moment, at time.Time) time.Time {
	loc, err := giveaway.LoadZone(m.Zone)
	if err != nil {
		loc = time.UTC
	}
	return at.In(loc)
}

// days counts from one date to another, whatever the hour.
func days(from, to time.Time) int64 {
	date := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int64(date(to).Sub(date(from)) / (24 * time.Hour))
}

func number(n int64) *big.Rat { return big.NewRat(n, 1) }

// asks are words in a creator's own question that show what it asks for. It is
// a guess, in English only; no source.
var asks = []struct{ field, group, words string }{
	{"ssn", "tax", "social security|ssn"}, {"tin", "tax", "tax number|tax id|taxpayer|tin number|w-9"},
	{"card", "pay", "card number|credit card|debit card"}, {"bank", "pay", "bank account|iban|routing number|account number"}, {"payment", "pay", "payment|paypal"},
	{"tin", "personal", "tax number|tax id|taxpayer|tin number|w-9"}, {"street", "personal", "street|postal address|home address|mailing address"}, {"phone", "personal", "phone|mobile number|cell number"},
	{"birth_date", "personal", "birthday|birth date|date of birth|born"},
}

// questions adds what the creator's own questions seem to ask for to what the
// form asks anyway, and returns their words.
func (e env) questions(list []giveaway.Question) map[string]string {
	fields, words := []string{"email", "size", "country", "state", "age_range", "name"}, map[string]string{}
	for _, q := range list {
		for _, a := range asks {
			if !slices.ContainsFunc(strings.Split(a.words, "|"), func(w string) bool { return strings.Contains(strings.ToLower(q.Label), w) }) {
				continue
			}
			fields = append(fields, a.field)
			if words["question."+a.group] == "" {
				words["question."+a.group] = "“" + q.Label + "”"
			}
		}
	}
	e["collect.fields"] = fields
	return words
}
