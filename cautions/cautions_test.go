package cautions

import (
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// at is a moment that is not in doubt.
func at(t *testing.T, local, zone string) giveaway.Moment {
	t.Helper()
	m, err := giveaway.ParseMoment(local, zone, 0)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// calm are terms that raise nothing; each test changes what it is about.
func calm(t *testing.T) giveaway.Terms {
	return giveaway.Terms{
		Draw: "trail-boots", Channel: "Slow Miles", Host: "hello@slow-miles.example", Title: "Win boots.", Prize: "a pair of boots",
		Sponsor: "Larkspur Trail Supply", SponsorAddress: "12 Mill Lane, Anytown, larkspur.example", Disclosure: "The shop gave us these boots.",
		Worth: &giveaway.Worth{Cents: 25000, Currency: "USD"}, Winners: 1, AnswerDays: 7, LockMinutes: 30, KeepDays: 90,
		Opens: at(t, "2026-10-01T18:00", "America/New_York"), Closes: at(t, "2026-10-15T18:00", "America/New_York"), Event: at(t, "2026-10-15T20:30", "America/New_York"),
		Region: eligibility.Region{Live: []string{"US"}, NotLive: []string{"US-AL", "US-NE", "US-MS"}, Ship: []string{"US"}},
		MinAge: 18, Beacon: giveaway.BeaconQuicknet,
	}
}

// early is long before calm opens.
var early = time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)

func codes(list []Caution) []string {
	var all []string
	for _, c := range list {
		all = append(all, c.Code)
	}
	return all
}

func dollars(cents int64) *giveaway.Worth { return &giveaway.Worth{Cents: cents, Currency: "USD"} }

// only lets people of one state of the United States enter.
func only(state string) eligibility.Region {
	r := eligibility.Region{Live: []string{"US"}, Ship: []string{"US"}, AlaskaHawaii: true}
	for _, s := range eligibility.States("US") {
		if s.Code != state && r.DecideLive(eligibility.Place{Country: "US", State: s.Code}).OK {
			r.NotLive = append(r.NotLive, "US-"+s.Code)
		}
	}
	return r
}

func TestCalmTermsRaiseNothing(t *testing.T) {
	if got := For(calm(t), early); len(got) > 0 {
		t.Errorf("got %+v", got)
	}
}

// The check values of testdata/facts/law.md, at the end of its section H, and
// each row of its table.
func TestFacts(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*giveaway.Terms)
		has    []string
		lacks  []string
	}{
		{"total 5,000 with NY", func(x *giveaway.Terms) { x.Worth, x.Region = dollars(500000), only("NY") }, []string{"L-B4"}, []string{"L-B1", "L-B2"}},
		{"5,000.01 with NY", func(x *giveaway.Terms) { x.Worth, x.Region = dollars(500001), only("NY") }, []string{"L-B1"}, []string{"L-B2", "L-B4"}},
		{"5,000.01 with NY and FL", func(x *giveaway.Terms) { x.Worth = dollars(500001) }, []string{"L-B1", "L-B2"}, []string{"L-B4"}},
		{"3 × 1,700 with FL only", func(x *giveaway.Terms) { x.Worth, x.Winners, x.Region = dollars(170000), 3, only("FL") }, []string{"L-B2"}, []string{"L-B1", "L-A7"}},
		{"one pair at 250 in 2026", func(*giveaway.Terms) {}, nil, []string{"L-A7", "L-B1", "L-B2"}},
		{"2,000 to one winner in 2026", func(x *giveaway.Terms) { x.Worth = dollars(200000) }, []string{"L-A7"}, nil},
		{"650 in Dec 2025", func(x *giveaway.Terms) {
			x.Worth, x.Event = dollars(65000), at(t, "2025-12-15T20:30", "America/New_York")
		}, []string{"L-A7"}, nil},
		{"650 in Jan 2026", func(x *giveaway.Terms) {
			x.Worth, x.Event = dollars(65000), at(t, "2026-01-15T20:30", "America/New_York")
		}, nil, []string{"L-A7"}},
		{"New Year's Eve there, 2026 in UTC", func(x *giveaway.Terms) {
			x.Worth, x.Event = dollars(65000), at(t, "2025-12-31T20:30", "America/New_York")
		}, []string{"L-A7"}, nil},
		{"2027", func(x *giveaway.Terms) { x.Event = at(t, "2027-01-15T20:30", "America/New_York") }, []string{"L-A7n"}, []string{"L-A7"}},
		{"big prize, nobody from the US", func(x *giveaway.Terms) { x.Worth, x.Region.Live = dollars(900000), []string{"DE"} }, nil, []string{"L-A7", "L-B1", "L-B2"}},
		{"pay", func(x *giveaway.Terms) { x.StepKinds = []string{giveaway.StepPay} }, []string{"L-A2p"}, []string{"L-A1a", "L-A2"}},
		{"Nebraska", func(x *giveaway.Terms) { x.Region = only("NE") }, []string{"L-A5"}, nil},
		{"Nebraska at 19", func(x *giveaway.Terms) { x.Region, x.MinAge = only("NE"), 19 }, nil, []string{"L-A5"}},
		{"17", func(x *giveaway.Terms) { x.MinAge = 17 }, []string{"L-A5s"}, []string{"L-A6"}},
		{"13", func(x *giveaway.Terms) { x.MinAge = 13 }, []string{"L-A5s"}, []string{"L-A6"}},
		{"12", func(x *giveaway.Terms) { x.MinAge = 12 }, []string{"L-A5s", "L-A6"}, nil},
		{"age not asked", func(x *giveaway.Terms) { x.MinAge = 0 }, []string{"L-A5s", "L-A6"}, nil},
		{"asks for a social security number", ask("Your Social Security number?"), []string{"L-A7b"}, []string{"L-A15"}},
		{"asks for a card", ask("Credit card, for the postage"), []string{"L-A15"}, []string{"L-A7b"}},
		{"asks for a phone", ask("Your phone number?"), []string{"L-E2"}, nil},
		{"asks for a trail", ask("Your favourite trail?"), nil, []string{"L-A7b", "L-A15", "L-E2"}},
		// of no source outside: whoever lost a private page asks somebody
		{"nobody to ask", func(x *giveaway.Terms) { x.Host = "" }, []string{"E-1"}, nil},
		{"no disclosure", func(x *giveaway.Terms) { x.Disclosure = "" }, []string{"L-A9a"}, nil},
		{"share, written rules", func(x *giveaway.Terms) { x.StepKinds = []string{giveaway.StepShare} }, nil, []string{"L-A9b", "L-A10"}},
		{"share, own rules", func(x *giveaway.Terms) { x.StepKinds, x.Rules = []string{giveaway.StepShare}, "Mine." }, []string{"L-A9b", "L-A3o"}, nil},
		{"review", func(x *giveaway.Terms) { x.StepKinds, x.Rules = []string{giveaway.StepReview}, "Mine." }, []string{"L-A9b"}, []string{"L-A10"}},
		{"follow", func(x *giveaway.Terms) { x.StepKinds = []string{giveaway.StepFollow} }, []string{"L-A14"}, nil},
		{"RI over 500", func(x *giveaway.Terms) { x.Worth, x.Region = dollars(50001), only("RI") }, []string{"L-B3"}, nil},
		{"RI at 500", func(x *giveaway.Terms) { x.Worth, x.Region = dollars(50000), only("RI") }, nil, []string{"L-B3"}},
		{"RI filed", func(x *giveaway.Terms) { x.Worth, x.Region, x.Filed = dollars(50001), only("RI"), []string{"RI"} }, nil, []string{"L-B3"}},
		{"4,499.99", func(x *giveaway.Terms) { x.Worth = dollars(449999) }, nil, []string{"L-B4"}},
		{"4,500", func(x *giveaway.Terms) { x.Worth = dollars(450000) }, []string{"L-B4"}, nil},
		{"Canada", func(x *giveaway.Terms) { x.Region.Live = []string{"US", "CA"} }, []string{"L-C2", "L-C3"}, []string{"L-C1", "L-C4"}},
		{"Canada, a skill question promised", func(x *giveaway.Terms) {
			x.Region.Live, x.Paragraphs = []string{"US", "CA"}, "Be kind.\n\n"+giveaway.SkillParagraph
		}, []string{"L-C3"}, []string{"L-C2"}},
		{"Canada, in other words", func(x *giveaway.Terms) {
			x.Region.Live, x.Paragraphs = []string{"CA"}, "A winner who lives in Canada is asked a skill question."
		}, []string{"L-C2"}, nil},
		{"Canada, own rules that promise it", func(x *giveaway.Terms) { x.Region.Live, x.Rules = []string{"CA"}, "Mine.\n\n"+giveaway.SkillParagraph }, nil, []string{"L-C2"}},
		{"Canada, own rules that don't", func(x *giveaway.Terms) {
			x.Region.Live, x.Rules, x.Paragraphs = []string{"CA"}, "Mine.", giveaway.SkillParagraph
		}, []string{"L-C2"}, nil},
		{"Canada without value", func(x *giveaway.Terms) { x.Region.Live, x.Worth = []string{"CA"}, nil }, []string{"L-C1", "L-A3v"}, nil},
		{"Canada without Quebec", func(x *giveaway.Terms) { x.Region.Live, x.Region.NotLive = []string{"CA"}, []string{"CA-QC"} }, []string{"L-C2"}, []string{"L-C3"}},
		{"United Kingdom", func(x *giveaway.Terms) { x.Region.Live = []string{"GB"} }, nil, []string{"L-D1", "L-D2", "L-E1"}},
		{"United Kingdom, no public number", func(x *giveaway.Terms) { x.Region.Live, x.Beacon = []string{"GB"}, giveaway.BeaconNone }, []string{"L-D1"}, nil},
		{"Norway", func(x *giveaway.Terms) { x.Region.Live = []string{"NO"} }, nil, []string{"L-E1"}},
		{"Italy", func(x *giveaway.Terms) { x.Region.Live = []string{"IT"} }, []string{"L-E5"}, nil},
		{"Australia over 3,000", func(x *giveaway.Terms) {
			x.Region.Live, x.Worth = []string{"AU"}, &giveaway.Worth{Cents: 300001, Currency: "AUD"}
		}, []string{"L-F"}, nil},
		{"Australia at 3,000", func(x *giveaway.Terms) {
			x.Region.Live, x.Worth = []string{"AU"}, &giveaway.Worth{Cents: 300000, Currency: "AUD"}
		}, nil, []string{"L-F", "L-A3v"}},
		{"anywhere", func(x *giveaway.Terms) { x.Region = eligibility.Region{} }, []string{"L-A4", "L-A5", "L-C2", "L-C3", "L-E5", "L-A3v"}, []string{"L-E1"}},
		{"no address", func(x *giveaway.Terms) { x.SponsorAddress = "" }, []string{"L-A3a"}, nil},
		{"no value", func(x *giveaway.Terms) { x.Worth = nil }, []string{"L-A3v"}, []string{"L-A7", "L-B1", "L-B2"}},
	} {
		terms := calm(t)
		c.change(&terms)
		got := codes(For(terms, early))
		for _, code := range c.has {
			if !slices.Contains(got, code) {
				t.Errorf("%s: %s is not raised, only %v", c.name, code, got)
			}
		}
		for _, code := range c.lacks {
			if slices.Contains(got, code) {
				t.Errorf("%s: %s is raised", c.name, code)
			}
		}
	}
}

func ask(label string) func(*giveaway.Terms) {
	return func(x *giveaway.Terms) {
		x.Questions = []giveaway.Question{{Key: "q", Label: label, Kind: giveaway.KindText}}
	}
}

// Two prizes of 1,000 to one winner in 2026 are 2,000 in a year: the check
// value of the facts, at the threshold itself, since here everybody gets one.
func TestTaxThreshold(t *testing.T) {
	for year, want := range map[int]int64{2025: 600, 2026: 2000} {
		if got, known := TaxThreshold(year); got != want || !known {
			t.Errorf("%d: got %d, %v", year, got, known)
		}
	}
	if got, known := TaxThreshold(2027); got != 2000 || known {
		t.Errorf("2027: got %d, %v; its figure was not found", got, known)
	}
}

// 30 days for New York, 7 for Florida (testdata/facts/law.md, B1 and B2),
// counted by the calendar of the place where entries start.
func TestDaysToFile(t *testing.T) {
	for _, c := range []struct {
		now  string
		want []string
	}{
		{"2026-09-01T23:59:00-04:00", nil},
		{"2026-09-02T00:01:00-04:00", []string{"L-B1d"}},
		{"2026-09-24T23:59:00-04:00", []string{"L-B1d"}},
		{"2026-09-25T00:01:00-04:00", []string{"L-B1d", "L-B2d"}},
		{"2026-10-03T00:00:00-04:00", []string{"L-B1d", "L-B2d"}},
	} {
		now, err := time.Parse(time.RFC3339, c.now)
		if err != nil {
			t.Fatal(err)
		}
		terms := calm(t)
		terms.Worth = dollars(600000)
		got := slices.DeleteFunc(codes(For(terms, now)), func(code string) bool { return !strings.HasSuffix(code, "d") })
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.now, got, c.want)
		}
		terms.Filed = []string{"NY", "FL"}
		if got := codes(For(terms, now)); slices.Contains(got, "L-B1d") || slices.Contains(got, "L-B2d") || !slices.Contains(got, "L-B1") {
			t.Errorf("%s, filed: got %v", c.now, got)
		}
	}
}

// A value that is missing, or in another currency, is said, with all that
// hangs on it.
func TestUnjudged(t *testing.T) {
	why := func(x giveaway.Terms) string {
		for _, c := range For(x, early) {
			if c.Code == "L-A3v" {
				return c.Why
			}
		}
		return ""
	}
	terms := calm(t)
	terms.Worth = nil
	if got := why(terms); got != "No retail value is given. So nobody here can judge these: the tax form of the United States, filing in New York, filing in Florida and filing in Rhode Island." {
		t.Errorf("got %q", got)
	}
	terms.Region = only("FL")
	if got := why(terms); got != "No retail value is given. So nobody here can judge these: the tax form of the United States and filing in Florida." {
		t.Errorf("got %q", got)
	}
	terms.Worth = &giveaway.Worth{Cents: 20000, Currency: "EUR"}
	if got := why(terms); !strings.HasPrefix(got, "The retail value is given as 200.00 euros. So nobody") {
		t.Errorf("got %q", got)
	}
	terms.Region.Live = []string{"DE"}
	if got := why(terms); got != "" {
		t.Errorf("got %q", got)
	}
}

// L-A3b and L-D2 are about changes after entries began.
func TestChanging(t *testing.T) {
	was := calm(t)
	later, rules := was, was
	later.Closes = at(t, "2026-10-15T19:00", "America/New_York")
	rules.Paragraphs = "More."
	own := was
	own.Rules = "Mine."
	during, before := was.Opens.UTC, was.Opens.UTC.Add(-time.Second)
	if got := codes(Changing(was, rules, during)); !slices.Equal(got, []string{"L-A3b"}) {
		t.Errorf("rules: got %v", got)
	}
	if got := codes(Changing(was, own, during)); !slices.Contains(got, "L-A3b") {
		t.Errorf("own rules: got %v", got)
	}
	if got := codes(Changing(was, later, during)); !slices.Equal(got, []string{"L-D2"}) {
		t.Errorf("closing: got %v", got)
	}
	if got := codes(Changing(was, later, before)); len(got) > 0 {
		t.Errorf("before entries began: got %v", got)
	}
	if got := codes(Changing(was, was, during)); len(got) > 0 {
		t.Errorf("no change: got %v", got)
	}
}

// Each id of table H stands in the rules, with its level.
func TestTableHasAllOfTheFacts(t *testing.T) {
	page, err := os.ReadFile("../testdata/facts/law.md")
	if err != nil {
		t.Fatal(err)
	}
	_, block, _ := strings.Cut(string(page), "## H. ")
	_, block, _ = strings.Cut(block, "```json\n")
	block, _, _ = strings.Cut(block, "```")
	var facts []struct{ ID, Level string }
	if err := json.Unmarshal([]byte(block), &facts); err != nil || len(facts) != 29 {
		t.Fatalf("table H: %d rows, %v", len(facts), err)
	}
	for _, f := range facts {
		i := slices.IndexFunc(rules.Rules, func(r rule) bool { return r.ID == f.ID })
		if i < 0 || string(rules.Rules[i].Level) != f.Level {
			t.Errorf("%s (%s) is not in the rules, or of another level", f.ID, f.Level)
		}
	}
}

// Stops come first; a mark is for one text; every caution has its source and
// date; nothing is ever called legal.
func TestForm(t *testing.T) {
	terms := calm(t)
	terms.Region, terms.MinAge, terms.Disclosure, terms.Worth, terms.StepKinds = eligibility.Region{}, 0, "", dollars(700000), giveaway.StepKinds
	got := For(terms, early)
	seen := map[any]bool{}
	for i, c := range got {
		if i > 0 && order(c.Level) < order(got[i-1].Level) {
			t.Errorf("%s (%s) comes after %s", c.Code, c.Level, got[i-1].Level)
		}
		if c.Source == "" || c.Looked != "24 November 2026" && c.Looked != "" || c.Why == "" || strings.ContainsAny(c.Why, "{}") || seen[c.Mark] {
			t.Errorf("%+v", c)
		}
		seen[c.Mark] = true
	}
	// What is ours, or from memory in the facts of the law, bears no day of a
	// look-up (testdata/facts/law.md marks the latter so); all others do.
	own := map[string]bool{"E-1": true, "L-A3a": true, "L-A3v": true, "L-A3o": true, "L-A4": true, "L-B5": true, "L-E5": true}
	for _, r := range rules.Rules {
		if r.Unsourced != own[r.ID] {
			t.Errorf("%s: unsourced is %v", r.ID, r.Unsourced)
		}
	}
	if e := For(func() giveaway.Terms { x := calm(t); x.Host = ""; return x }(), early); !slices.ContainsFunc(e, func(c Caution) bool {
		return c.Code == "E-1" && c.Origin() == "It rests on this: our own experience; no source outside says it."
	}) {
		t.Errorf("terms that name nobody: %v", codes(e))
	}
	if len(got) < 10 || got[0].Level != LevelStop {
		t.Errorf("got %v", codes(got))
	}
	// The desk shows all of it (design, "Words").
	fileWord := regexp.MustCompile(`(?i)\b(opening|seals?|sealed|roll|rolls|freeze|frozen|hash|hashes|commitments?|salts?|beacons?|rounds?|seeds?|scores?|records?|outcomes?|excluded|issued|withheld|weak|alternates?|receipts?|quicknet|drand|relays?|canonical|SHA-?256|passed)\b`)
	claim := regexp.MustCompile(`(?i)\b(legal|compliant|lawful|allowed by law)\b`)
	for _, r := range rules.Rules {
		if claim.MatchString(r.Why+r.Text) || strings.Count(r.Text, ". ") > 2 {
			t.Errorf("%s: %s", r.ID, r.Text)
		}
		if found := fileWord.FindString(r.Why + " " + r.Text + " " + r.About + " " + r.Source); found != "" {
			t.Errorf("%s says %q", r.ID, found)
		}
	}
	terms.Worth = dollars(700001)
	for _, c := range For(terms, early) {
		if c.Code == "L-B1" && seen[c.Mark] {
			t.Error("another value, but the mark that it was read still counts")
		}
	}
}

// The EEA has 30 members and no code that is unknown here (from memory).
func TestSets(t *testing.T) {
	if n := len(rules.Sets["EEA"]); n != 30 {
		t.Errorf("EEA: %d countries", n)
	}
	for _, set := range rules.Sets {
		for _, code := range set {
			if eligibility.CountryName(code) == "" {
				t.Errorf("%s is no country", code)
			}
		}
	}
}

// Fixed facts still steer their rules: a product that settled them otherwise
// would raise these.
func TestFixedFactsSteer(t *testing.T) {
	for code, change := range map[string]func(env){
		"L-A1a": func(e env) { e["entry.free_alternative"], e["entry.methods"] = false, []string{"purchase"} },
		"L-A2":  func(e env) { e["entry.equal_odds"] = false },
		"L-A10": func(e env) { e["entry.review_rating_required"], e["entry.methods"] = true, []string{"review"} },
		"L-A11": func(e env) { e["mail.marketing"] = true },
		"L-B2b": func(e env) { e["entry.removed_without_reason"] = true },
		"L-B5":  func(e env) { e["rules.winners_list"] = false },
		"L-C4":  func(e env) { e["mail.marketing"], e["allow.countries"] = true, []string{"CA"} },
		"L-E1":  func(e env) { e["retention.days"], e["allow.countries"] = false, []string{"IS"} },
		"L-E2":  func(e env) { e["collect.fields"] = []string{"birth_date"} },
	} {
		e, words := facts(calm(t), calm(t), early)
		change(e)
		if got := codes(raise(e, words)); !slices.Contains(got, code) {
			t.Errorf("%s is not raised: %v", code, got)
		}
	}
}

// Every name that a rule may use gets a value, of its kind.
func TestNames(t *testing.T) {
	terms := calm(t)
	e, _ := facts(terms, terms, early)
	terms.Worth.Currency = "AUD"
	aud, _ := facts(terms, terms, early)
	for name, k := range kinds {
		v := e[name]
		if name == "total_arv_aud" {
			v = aud[name]
		}
		if name != "unjudged" && (v == nil || kindOf(v) != k) {
			t.Errorf("%s is %T", name, v)
		}
	}
	for name := range e {
		if _, known := kinds[name]; !known {
			t.Errorf("%s is no name that rules may use", name)
		}
	}
}
