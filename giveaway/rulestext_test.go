package giveaway

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/sizing"
)

var update = flag.Bool("update", false, "write the golden rules anew")

var postedAt = time.Date(2026, 11, 25, 15, 4, 5, 0, time.UTC)

// rulesTerms are quite different giveaways, each without rules of its own.
func rulesTerms() map[string]Terms {
	plain := bootTerms()
	plain.Rules = ""

	full := plain
	full.SponsorAddress = "12 Mill Lane, Anytown, larkspur.example"
	full.Value, full.Worth = "", &Worth{Cents: 18900, Currency: "USD"}
	full.Disclosure = "Larkspur Trail Supply gave us these boots to give away."
	full.Winners, full.Alternates = 3, 5
	full.Barred = []string{"staff of Larkspur Trail Supply", "the people of Slow Miles", "one@example.com", "two@example.com"}
	full.BarredTick, full.KeepDays, full.Filed = true, 30, []string{"NY", "FL"}
	full.StepKinds = []string{StepFollow, StepShare, StepReview}
	full.Seconds = []Second{{Role: "sponsor", Who: "Larkspur Trail Supply", Hash: draw.Hash([]byte("x"))}}
	full.Questions = append(slices.Clone(full.Questions), Question{Key: "sole", Label: "Which sole?", Kind: KindChoice, Choices: []string{"soft", "firm"}, Required: true})
	full.Paragraphs = "A **skill question** comes with the letter.\n\n- one\n- two"

	bare := plain // something without sizes, nobody in line, no contact
	bare.Sizes, bare.Alternates, bare.AnswerDays, bare.Host, bare.Value, bare.Steps = nil, 0, 1, "", "", ""
	bare.Questions, bare.Barred, bare.MinAge, bare.Prize = nil, nil, 0, "A tent"
	bare.Title = "Win a tent."
	bare.Region = eligibility.Region{}

	friend := plain
	friend.Region = eligibility.Region{Live: []string{"US", "CA", "GB", "DE"}, NotLive: []string{"US-NY", "CA-QC"}, Ship: []string{"US"}, AlaskaHawaii: true, Friend: true}
	friend.Carriers, friend.Follows = CarriersPrivate, "winter-boots"

	alone := plain // no public number, military post
	alone.Beacon, alone.Carriers = BeaconNone, CarriersPost
	alone.Region = eligibility.Region{Live: []string{"US"}, Ship: []string{"US"}, AlaskaHawaii: true, Territories: true, Military: true, FreelyAssociated: true}

	utc := plain // UTC, nobody from elsewhere, odd sizes
	for _, m := range []*Moment{&utc.Opens, &utc.Closes, &utc.Event} {
		*m, _ = MomentAt(m.UTC, "UTC")
	}
	utc.Region = eligibility.Region{Ship: []string{"PR", "GB"}, NotShip: []string{"US-AP"}}
	utc.Sizes = &SizeTerms{Run: sizing.Run{
		{System: sizing.Mens, From: 17, To: 17, Step: sizing.WholeSteps, Widths: []string{"D"}},
		{System: sizing.Womens, From: 10, To: 20, Step: sizing.HalfSteps, Widths: []string{"B", "D", "2E"}, Except: []sizing.Half{13, 15}},
	}, Scale: sizing.Unisex}
	utc.Barred = []string{"one@example.com"}
	utc.Seconds = []Second{{Role: "a", Who: "Ada Birch", Hash: draw.Hash([]byte("a"))}, {Role: "b", Who: "Bo Fern", Hash: draw.Hash([]byte("b"))}}
	return map[string]Terms{"plain": plain, "full": full, "bare": bare, "friend": friend, "alone": alone, "utc": utc}
}

// The golden files are what RulesText wrote, read through by a person before
// they were kept; no source outside.
func TestRulesTextGolden(t *testing.T) {
	for name, terms := range rulesTerms() {
		if err := terms.Validate(); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		got := terms.WithRules(postedAt).Rules
		file := filepath.Join("testdata", "rules", name+".txt")
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s differs from %s:\n%s", name, file, got)
		}
		if strings.Contains(got, "@example.com") {
			t.Errorf("%s publishes an address that may not win", name)
		}
		for _, line := range strings.Split(got, "\n") {
			if line != strings.TrimSpace(line) || strings.Contains(line, "  ") || strings.Contains(line, "..") {
				t.Errorf("%s: odd blanks or stops in %q", name, line)
			}
		}
	}
}

// Rules are for people who are not builders (design, "Words").
func TestRulesTextPlainWords(t *testing.T) {
	fileWord := regexp.MustCompile(`(?i)\b(opening|seals?|sealed|roll|rolls|freeze|frozen|freezing|hash|hashes|commitments?|salts?|beacons?|rounds?|seeds?|scores?|records?|outcomes?|excluded|issued|withheld|weak|alternates?|receipts?|quicknet|drand|relays?|canonical|SHA-?256|passed)\b|legal|compliant|lawful`)
	for name, terms := range rulesTerms() {
		if found := fileWord.FindString(terms.RulesText()); found != "" {
			t.Errorf("%s says %q", name, found)
		}
	}
}

// Every value that binds stands in the text.
func TestRulesTextHoldsEachValue(t *testing.T) {
	full := rulesTerms()["full"]
	text := full.WithRules(postedAt).Rules
	for _, want := range []string{
		full.Title, full.Channel, full.Host, full.Prize, full.Sponsor, full.SponsorAddress, full.Disclosure, full.Steps, full.Paragraphs, full.Draw,
		"189.00 US dollars", "567.00 US dollars", "3 equal prizes", "next 5 tickets", "7 days of 24 hours to answer", "30 minutes before the draw", "30 days after",
		"Friday 27 November 2026, 6:00 pm (New York)", "Friday 27 November 2026, 11:00 pm (UTC)",
		"Friday 11 December 2026, 6:00 pm (New York)", "Friday 11 December 2026, 11:00 pm (UTC)",
		"Friday 11 December 2026, 8:30 pm (New York)", "Saturday 12 December 2026, 1:30 am (UTC)",
		"men’s 7 to 14 in half sizes", "width D", "the United States", "18 or over", capitalized(full.Barred[0]), capitalized(full.Barred[1]), "one of the 2 e-mail addresses",
		"“Your favourite trail?” (may be left empty)", "“Which sole?” with the choices soft or firm (has to be answered)", "New York and Florida",
		"Posted on 25 November 2026",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the rules lack %q", want)
		}
	}
}

// What rules have to print: testdata/facts/law.md, A3, clause by clause.
func TestRulesTextHasTheFactsList(t *testing.T) {
	text := rulesTerms()["full"].RulesText()
	for clause, want := range map[string]string{
		"sponsor and address":         "The sponsor is Larkspur Trail Supply, 12 Mill Lane, Anytown, larkspur.example.",
		"who may enter":               "## Who may enter\n\nYou may live in the United States.",
		"opening instant with zone":   "Entries are taken from Friday 27 November 2026, 6:00 pm (New York)",
		"closing instant with zone":   "They end at Friday 11 December 2026, 6:00 pm (New York)",
		"how to enter free":           "Entering is free. Nothing has to be bought or paid",
		"prizes and retail value":     "The retail value of one prize is 189.00 US dollars, of all 3 together 567.00 US dollars.",
		"odds depend on entries":      "How good it is depends on how many tickets are on it.",
		"how drawn":                   "The 3 tickets with the lowest numbers win.",
		"when drawn":                  "The draw is made live, not before Friday 11 December 2026, 8:30 pm (New York)",
		"how told":                    "writes to each winner at the e-mail address that was entered",
		"deadline":                    "You have 7 days of 24 hours to answer",
		"alternates":                  "the prize goes to the ticket that is next in line",
		"taxes":                       "Taxes on the prize, where there are any, are the winner’s own.",
		"void clause":                 "The giveaway is void wherever the law does not allow it.",
		"winners list":                "names them to anybody who asks, free of charge",
		"privacy":                     "has personal data deleted within 30 days after",
		"entrants' disclosure (A9b)":  "say in it that you do so for a chance to win a prize from Larkspur Trail Supply",
		"no platform (A14)":           "no video site or other platform sponsors this giveaway",
		"no fee from a winner (A15)":  "never asks for money, a card",
		"regional split (C1)":         "wherever people live",
		"retention period (E, 5.1 e)": "within 30 days after the prizes arrived",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%s: the rules lack %q", clause, want)
		}
	}
}

// A clause stands only where its term holds.
func TestRulesTextLeavesOut(t *testing.T) {
	all := rulesTerms()
	for _, c := range []struct{ name, lacks, has string }{
		{"bare", "size", ""},
		{"bare", "may not win", ""},
		{"bare", "next in line,", "Nobody is next in line behind the winner."},
		{"bare", "Questions go to", "any country"},
		{"bare", "The United States here", "There is no least age."},
		{"bare", "age range", "the prize is not given"},
		{"bare", "retail", "Slow Miles writes to each winner"},
		{"bare", "days to answer", "1 day of 24 hours to answer"},
		{"alone", "made by a network", "No public number goes into the draw."},
		{"alone", "does not take in", "the Marshall Islands, Micronesia and Palau"},
		{"alone", "friend", "also delivers to PO Boxes and military addresses"},
		{"plain", "friend", "in the same places"},
		{"plain", "More from", "The secret number is then"},
		{"friend", "The retail value", "sending it on is between you and your friend"},
		{"friend", "also delivers", "Germany, except New York and Quebec"},
		{"utc", "), which is", "(UTC)"},
		{"utc", "e-mail addresses that", "an e-mail address that Slow Miles has named beforehand"},
		{"utc", "live in a country that the parcel can’t go to, you can enter", "you can’t win, whatever other address you have"},
	} {
		text := all[c.name].RulesText()
		if strings.Contains(text, c.lacks) {
			t.Errorf("%s says %q", c.name, c.lacks)
		}
		if !strings.Contains(text, c.has) {
			t.Errorf("%s lacks %q", c.name, c.has)
		}
	}
}

// Changing any one term that binds people changes the text.
func TestRulesTextFollowsEachTerm(t *testing.T) {
	minute := func(m *Moment) { *m, _ = MomentAt(m.UTC.Add(time.Minute), m.Zone) }
	for field, change := range map[string]func(*Terms){
		"draw": func(x *Terms) { x.Draw = "other" }, "channel": func(x *Terms) { x.Channel = "Other" }, "host": func(x *Terms) { x.Host = "other@other.example" },
		"title": func(x *Terms) { x.Title = "Other" }, "prize": func(x *Terms) { x.Prize = "a tent" }, "sponsor": func(x *Terms) { x.Sponsor = "Other" },
		"sponsor address": func(x *Terms) { x.SponsorAddress = "Other" }, "value": func(x *Terms) { x.Value = "much" },
		"worth": func(x *Terms) { x.Worth = &Worth{18901, "USD"} }, "currency": func(x *Terms) { x.Worth = &Worth{18900, "EUR"} }, "no worth": func(x *Terms) { x.Worth = nil },
		"disclosure": func(x *Terms) { x.Disclosure = "" }, "opens": func(x *Terms) { minute(&x.Opens) }, "closes": func(x *Terms) { minute(&x.Closes) }, "event": func(x *Terms) { minute(&x.Event) },
		"zone": func(x *Terms) { x.Opens, _ = MomentAt(x.Opens.UTC, "America/Chicago") }, "winners": func(x *Terms) { x.Winners++ }, "one winner": func(x *Terms) { x.Winners = 1 },
		"alternates": func(x *Terms) { x.Alternates++ }, "answer days": func(x *Terms) { x.AnswerDays++ }, "lock": func(x *Terms) { x.LockMinutes++ },
		"sizes": func(x *Terms) { x.Sizes = &SizeTerms{x.Sizes.Run[:0], x.Sizes.Scale} }, "scale": func(x *Terms) { x.Sizes = &SizeTerms{x.Sizes.Run, sizing.FIA} }, "no sizes": func(x *Terms) { x.Sizes = nil },
		"live": func(x *Terms) { x.Region.Live = []string{"CA"} }, "not live": func(x *Terms) { x.Region.NotLive = []string{"US-NY"} },
		"ship": func(x *Terms) { x.Region.Ship = []string{"CA"} }, "not ship": func(x *Terms) { x.Region.NotShip = []string{"US-NY"} },
		"alaska": func(x *Terms) { x.Region.AlaskaHawaii = true }, "territories": func(x *Terms) { x.Region.Territories = true },
		"military": func(x *Terms) { x.Region.Military = true }, "associated": func(x *Terms) { x.Region.FreelyAssociated = true },
		"age": func(x *Terms) { x.MinAge = 19 }, "no age": func(x *Terms) { x.MinAge = 0 }, "barred": func(x *Terms) { x.Barred = x.Barred[1:] }, "barred address": func(x *Terms) { x.Barred = x.Barred[:3] },
		"barred tick": func(x *Terms) { x.BarredTick = false }, "post": func(x *Terms) { x.Carriers = CarriersPost }, "private": func(x *Terms) { x.Carriers = CarriersPrivate },
		"steps": func(x *Terms) { x.Steps = "" }, "step kinds": func(x *Terms) { x.StepKinds = []string{StepShare} }, "no step kinds": func(x *Terms) { x.StepKinds = nil },
		"question": func(x *Terms) { x.Questions = x.Questions[:1] }, "keep days": func(x *Terms) { x.KeepDays = 0 }, "filed": func(x *Terms) { x.Filed = nil },
		"seconds": func(x *Terms) { x.Seconds = nil }, "second": func(x *Terms) { x.Seconds = []Second{{Who: "Other"}} },
		"beacon": func(x *Terms) { x.Beacon = BeaconNone }, "follows": func(x *Terms) { x.Follows = "other" }, "paragraphs": func(x *Terms) { x.Paragraphs = "" },
		"rules": func(x *Terms) { x.Rules = "Mine." },
	} {
		was := rulesTerms()["full"].RulesText()
		changed := rulesTerms()["full"]
		change(&changed)
		if changed.RulesText() == was {
			t.Errorf("%s: another value, but the same rules", field)
		}
		if rulesTerms()["full"].RulesText() != was {
			t.Fatalf("%s: not the same for the same terms", field)
		}
	}
	abroad := rulesTerms()["friend"]
	was := abroad.RulesText()
	if abroad.Region.Friend = false; abroad.RulesText() == was {
		t.Error("friend: another value, but the same rules")
	}
}

// A text of one's own stands as it is, and rules are written once.
func TestRulesTextOwn(t *testing.T) {
	own := bootTerms()
	if own.RulesText() != own.Rules || own.WithRules(postedAt).RulesWritten || !own.WithRules(postedAt).RulesDate.IsZero() {
		t.Error("a text of one's own does not stand")
	}
	written := rulesTerms()["plain"].WithRules(postedAt)
	if !written.RulesWritten || written.Rules == "" || written.RulesText() != written.Rules || written.Validate() != nil {
		t.Errorf("written rules don't stand: %v", written.Validate())
	}
}
