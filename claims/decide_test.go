package claims

import (
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/nyaruka/phonenumbers"

	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// bootTerms are terms of a pair of boots in men's 7 to 12, D and 2E.
func bootTerms() giveaway.Terms {
	t := anywhere()
	t.Draw, t.Title, t.Prize, t.Host = "trail-boots", "Win a pair of hiking boots in your size.", "a pair of hiking boots", "hello@slow-miles.example"
	t.Sizes = &giveaway.SizeTerms{Scale: sizing.Common, Run: sizing.Run{{System: sizing.Mens, From: 14, To: 24, Step: sizing.HalfSteps, Widths: []string{"D", "2E"}}}}
	t.MinAge, t.AnswerDays, t.Winners, t.Alternates = 18, 7, 1, 3
	return t
}

func entered() entries.Stored {
	home := eligibility.Place{Country: "US", State: "NY"}
	return entries.Stored{New: entries.New{Entry: entries.Entry{
		Key: "ann@example.com", Typed: "ann@example.com", Live: home, Ship: home,
		Size: sizing.Size{System: sizing.Mens, Size: 20, Width: "D"},
	}}}
}

func goodForm() Form {
	return Form{Name: "Ann Example", Line1: "12 Elm Street", City: "New York", State: "NY", Postal: "10001",
		Country: "US", Phone: "(201) 555-0123", Adult: "on", Eligible: "yes"}
}

func TestDecide(t *testing.T) {
	with := func(edit func(*Form)) Form { f := goodForm(); edit(&f); return f }
	for _, c := range []struct {
		name   string
		form   Form
		fields string
	}{
		{"good", goodForm(), ""},
		{"nothing", Form{}, "name country line1 city phone adult eligible"},
		{"no name", with(func(f *Form) { f.Name = " \t" }), "name"},
		{"one name", with(func(f *Form) { f.Name = "Ann" }), "name"},
		{"hidden mark in the name", with(func(f *Form) { f.Name = "Ann\u202e Example" }), "name"},
		{"not adult", with(func(f *Form) { f.Adult = "" }), "adult"},
		{"not eligible", with(func(f *Form) { f.Eligible = "no" }), "eligible"},
		{"a size that the sponsor has", with(func(f *Form) { f.System, f.Size, f.Width = "men’s", "10 1/2", "wide" }), ""},
		{"a size that it lacks", with(func(f *Form) { f.System, f.Size, f.Width = "mens", "13", "D" }), "size"},
		{"a size that is none", with(func(f *Form) { f.System, f.Size, f.Width = "mens", "9.25", "D" }), "size"}, // SZ-12
		{"a European size", with(func(f *Form) { f.System, f.Size, f.Width = "mens", "42", "D" }), "size"},       // SZ-13
		{"another country", with(func(f *Form) { f.Country, f.State, f.Postal = "CA", "ON", "K1A 0B1" }), "country"},
		{"no phone", with(func(f *Form) { f.Phone = "" }), "phone"},
		{"not a phone", with(func(f *Form) { f.Phone = "call me" }), "phone"},
		{"declined", Form{Decline: "yes"}, ""},
	} {
		a, problems := Decide(c.form, bootTerms(), entered())
		if got := fields(problems); got != c.fields {
			t.Errorf("%s: got %q, want %q: %v", c.name, got, c.fields, problems)
		}
		if a.Declined != (c.form.Decline != "") {
			t.Errorf("%s: declined %v", c.name, a.Declined)
		}
	}
	a, _ := Decide(goodForm(), bootTerms(), entered())
	if a.Size != entered().Entry.Size || a.Phone != "+12015550123" || !a.Adult || !a.Eligible || a.Typed.Line1 != "12 Elm Street" {
		t.Errorf("got %+v", a)
	}
	if got := strings.Join(a.Label(), "\n"); got != "ANN EXAMPLE\n12 ELM ST\nNEW YORK NY  10001" {
		t.Errorf("got label %q", got)
	}
}

// The nearest sizes are offered, ready to be taken. Source: SZ-13's run ends
// at 12, so the nearest to 13 D is 12 D (sizing's own tests check the order).
func TestSizeOffers(t *testing.T) {
	f := goodForm()
	f.System, f.Size, f.Width = "mens", "13", "D"
	_, problems := Decide(f, bootTerms(), entered())
	if len(problems) != 1 || len(problems[0].Offers) != nearest || problems[0].Offers[0].Text != "men’s 12 D" {
		t.Fatalf("got %+v", problems)
	}
	v := problems[0].Offers[0].Values
	f.System, f.Size, f.Width = v["system"], v["size"], v["width"]
	if _, problems := Decide(f, bootTerms(), entered()); len(problems) > 0 {
		t.Errorf("an offer taken: %v", problems)
	}
}

// Source: testdata/facts/sizing.json, SZ-03 and SZ-04: men's 10 is a foot of
// 270.9 mm and women's 11.5 on the common scale, 11 on the FIA scale; the
// width keeps its word, D to B (section 4).
func TestConversion(t *testing.T) {
	for scale, want := range map[sizing.Scale]string{
		sizing.Common: "about women’s 11½ B; for a foot of 271 mm (Mondopoint 270)",
		sizing.FIA:    "about women’s 11 B; for a foot of 271 mm (Mondopoint 270)",
	} {
		terms := bootTerms()
		terms.Sizes.Scale = scale
		if got := Conversion(entered().Entry.Size, terms); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := Conversion(sizing.Size{}, anywhere()); got != "" {
		t.Errorf("without sizes: got %q", got)
	}
}

// A question is asked once about the same words, and anew about others.
func TestQuestions(t *testing.T) {
	f := goodForm()
	f.Name, f.Postal = "Ann", "06001" // a Connecticut code (ZIP facts)
	a, problems := Decide(f, bootTerms(), entered())
	if fields(problems) != "name postal" {
		t.Fatalf("got %v", problems)
	}
	f.Seen = a.Typed.Seen
	a, problems = Decide(f, bootTerms(), entered())
	if len(problems) > 0 || len(a.Tidy.Questions) != 1 {
		t.Errorf("sent again: %v, %d questions kept", problems, len(a.Tidy.Questions))
	}
	f.Postal = "06002"
	a, problems = Decide(f, bootTerms(), entered())
	if fields(problems) != "postal" {
		t.Errorf("another code: got %v", problems)
	}
	f.Seen = a.Typed.Seen
	f.Postal = "06001"
	if _, problems = Decide(f, bootTerms(), entered()); len(problems) > 0 {
		t.Errorf("the first code again: %v", problems)
	}
	f.Seen = strings.Repeat("0123456789abcdef ", 1000)
	if a, _ = Decide(f, bootTerms(), entered()); len(a.Typed.Seen) > maxSeen*(keyLen+1) {
		t.Errorf("seen grew to %d bytes", len(a.Typed.Seen))
	}
}

// Who lives where the sponsor does not send has to name a friend.
func TestFriend(t *testing.T) {
	terms, e := bootTerms(), entered()
	terms.Region = eligibility.Region{Ship: []string{"US"}, Friend: true}
	e.Entry.Live, e.Entry.Friend = eligibility.Place{Country: "DE"}, true
	f := goodForm()
	first, problems := Decide(f, terms, e)
	if fields(problems) != "care_of" {
		t.Errorf("no friend named: got %v", problems)
	}
	f.CareOf = "c/o Ben Example"
	if a, problems := Decide(f, terms, e); len(problems) > 0 || a.Label()[1] != "C/O BEN EXAMPLE" {
		t.Errorf("friend named: got %v, label %v", problems, a.Label())
	}
	f.CareOf, e.Entry.Friend = "", false
	f.Seen = first.Typed.Seen
	if _, problems = Decide(f, terms, e); fields(problems) != "care_of" {
		t.Errorf("no friend at all: got %v", problems)
	}
}

// Every region's example number that libphonenumber publishes, as the library
// carries them, comes back as E.164 from its national and its international
// form, and is shown nationally. ISO has no code for some of its regions.
func TestExampleNumbers(t *testing.T) {
	seen := 0
	for region := range phonenumbers.GetSupportedRegions() {
		n := phonenumbers.GetExampleNumber(region)
		if n == nil {
			t.Errorf("%s: no example number", region)
			continue
		}
		want := phonenumbers.Format(n, phonenumbers.E164)
		for _, form := range []phonenumbers.PhoneNumberFormat{phonenumbers.NATIONAL, phonenumbers.INTERNATIONAL, phonenumbers.E164} {
			typed := phonenumbers.Format(n, form)
			if got, sure := ParsePhone(typed, region); got != want || !sure {
				t.Errorf("%s: %q: got %q, %v, want %q", region, typed, got, sure, want)
			}
		}
		if got := PhoneShown(want, region); got != phonenumbers.Format(n, phonenumbers.NATIONAL) {
			t.Errorf("%s: shown as %q", region, got)
		}
		if got := PhoneShown(want, "ZZ"); got != phonenumbers.Format(n, phonenumbers.INTERNATIONAL) {
			t.Errorf("%s: shown abroad as %q", region, got)
		}
		seen++
	}
	if seen < 200 {
		t.Errorf("only %d example numbers", seen)
	}
	// libphonenumber's own invalid example numbers are refused or asked about.
	for _, c := range []struct{ typed, country string }{{"2530000", "US"}, {"", "US"}, {"+999 123", "US"}, {"12", "US"}, {strings.Repeat("1", 60), "US"}, {"201 555 0123 ext 4", "US"}} {
		if got, _ := ParsePhone(c.typed, c.country); got != "" {
			t.Errorf("%q: got %q, want none", c.typed, got)
		}
	}
}

// A number of the country where the winner lives is read as such if it is none
// of the country that the parcel goes to.
func TestPhoneFromHome(t *testing.T) {
	n := phonenumbers.GetExampleNumber("DE")
	f, e := goodForm(), entered()
	f.Phone, f.CareOf = phonenumbers.Format(n, phonenumbers.NATIONAL), "Ben Example"
	e.Entry.Live, e.Entry.Friend = eligibility.Place{Country: "DE"}, true
	a, problems := Decide(f, bootTerms(), e)
	if want := phonenumbers.Format(n, phonenumbers.E164); a.Phone != want || len(problems) > 0 {
		t.Errorf("got %q, %v, want %q", a.Phone, problems, want)
	}
}

// What to do about a phone number says what is wrong with it. The numbers are
// libphonenumber's own examples with digits left out or added; a local number
// of the United States has seven digits (its metadata, "possibleLengths
// localOnly").
func TestPhoneHints(t *testing.T) {
	us := phonenumbers.GetExampleNumber("US")
	whole := phonenumbers.Format(us, phonenumbers.NATIONAL)
	for typed, want := range map[string]string{
		whole:                           "",
		whole[:len(whole)-1]:            "This phone number lacks digits. Please write all of it, with the area code.",
		"555-0123":                      "This phone number lacks digits. Please write all of it, with the area code.",
		whole + "99":                    "This phone number has too many digits. Please look at it once more.",
		whole + " ext. 4":               "Please write the phone number without an extension.",
		"call me":                       "We can’t read this phone number. Please write it with + and the country’s number in front.",
		"":                              "Please write a phone number. The carrier may need it; nobody else uses it.",
		strings.Repeat("call me ", 400): "We can’t read this phone number. Please write it with + and the country’s number in front.",
	} {
		f := goodForm()
		f.Phone = typed
		_, problems := Decide(f, bootTerms(), entered())
		got := ""
		for _, p := range problems {
			got += p.Text
		}
		if got != want {
			t.Errorf("%.40q: got %q, want %q", typed, got, want)
		}
	}
}

// A postal code that was left out is asked for by the name that its country
// has for it; one that is none is explained.
func TestPostalCodeLeftOut(t *testing.T) {
	for _, c := range []struct{ country, state, postal, want string }{
		{"US", "NY", "", "Please write the ZIP code."},
		{"US", "NY", "  ", "Please write the ZIP code."},
		{"PR", "", "", "Please write the ZIP code."},
		{"CA", "ON", "", "Please write the postal code."},
		{"CA", "ON", "99501", "A Canadian postal code looks like K1A 0B1."},
	} {
		f := goodForm()
		f.Country, f.State, f.Postal, f.Seen = c.country, c.state, c.postal, ""
		terms := bootTerms()
		_, problems := CheckAddress(f.Address(), terms)
		var got []string
		for _, p := range problems {
			if p.Field == "postal" {
				got = append(got, p.Text)
			}
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s %q: got %q, want %q", c.country, c.postal, got, c.want)
		}
	}
}

// Source: the check values of testdata/facts/law.md that name L-A7, and its A7.
func TestCaution(t *testing.T) {
	at := func(year int, month time.Month) time.Time { return time.Date(year, month, 15, 12, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		name, value string
		more        []float64
		at          time.Time
		want        string
	}{
		{"one pair at $250 in 2026", "$250", nil, at(2026, 12), ""},
		{"two prizes of $1,000 to one winner in 2026", "$1,000", []float64{1000}, at(2026, 12), "L-A7"},
		{"$650 in Dec 2025", "$650", nil, at(2025, 12), "L-A7"},
		{"$650 in Jan 2026", "$650", nil, at(2026, 1), ""},
		{"the threshold itself", "2,000 US dollars", nil, at(2026, 1), "L-A7"},
		{"a cent below", "US$1,999.99", nil, at(2026, 1), ""},
		{"the year of the indexed threshold", "$2,500", nil, at(2027, 1), "L-A7n"},
		{"no sum", "priceless", nil, at(2026, 1), "L-A7"},
		{"other dollars", "CA$ 2,500", nil, at(2026, 1), "L-A7"},
		{"no value", "", nil, at(2026, 1), ""},
	} {
		terms := bootTerms()
		terms.Value = c.value
		got := Caution(terms, c.at, c.more...)
		code := ""
		if len(got) > 0 {
			code = got[0].Code
		}
		if len(got) > 1 || code != c.want {
			t.Errorf("%s: got %+v, want %q", c.name, got, c.want)
		}
	}
	abroad := bootTerms()
	abroad.Value, abroad.Region.Live = "$5,000", []string{"CA"}
	if got := Caution(abroad, at(2026, 1)); got != nil {
		t.Errorf("nobody from the United States: got %v", got)
	}
}

// Common practice, no source: the ways in which people write a sum.
func TestDollars(t *testing.T) {
	for text, want := range map[string]float64{
		"about 190 US dollars": 190, "$1,250.50": 1250.5, "US$ 2000": 2000, "2,000 USD": 2000, "190 dollars a pair": 190, "$250.": 250,
		"worth $99, or so": 99,
	} {
		if got, ok := Dollars(text); !ok || got != want {
			t.Errorf("%q: got %v, %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "190", "190 euros", "A$ 200", "200 Canadian dollars", "$100 to $200", "$1,2345", "NZD 5"} {
		if got, ok := Dollars(text); ok {
			t.Errorf("%q: got %v", text, got)
		}
	}
}

// Source: testdata/facts/time.md, sections 4 and 5. A period of n days is
// n × 24 hours from the notice (section 2, rule 10): where the same wall time
// comes 23 or 25 hours later, the period ends an hour after or before it.
func TestDeadlines(t *testing.T) {
	text, err := os.ReadFile("../testdata/facts/time.md")
	if err != nil {
		t.Fatal(err)
	}
	_, block, _ := strings.Cut(string(text), "```json\n")
	block, _, _ = strings.Cut(block, "```")
	var f struct {
		Cases []struct {
			ID, Zone, Local, Kind string
			UTC                   []string
		}
		Windows []struct {
			ID, Zone string
			Opens    string `json:"opens_utc"`
			Closes   string `json:"closes_utc"`
			Local    string `json:"closes_local"`
			Hours    int
		}
	}
	if err := json.Unmarshal([]byte(block), &f); err != nil || len(f.Windows) == 0 || len(f.Cases) < 25 {
		t.Fatalf("%v, %d windows, %d cases", err, len(f.Windows), len(f.Cases))
	}
	utc := func(s string) time.Time {
		at, err := time.Parse("2006-01-02T15:04Z", s)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	for _, w := range f.Windows {
		days := (w.Hours + 12) / 24
		until := Deadline(utc(w.Opens), days)
		if drift := until.Sub(utc(w.Closes)); drift != time.Duration(24*days-w.Hours)*time.Hour {
			t.Errorf("%s: ends %v after the same wall time, want %d h", w.ID, drift, 24*days-w.Hours)
		}
		m, err := giveaway.MomentAt(until, w.Zone)
		wall, _ := time.Parse("2006-01-02T15:04", w.Local)
		if want := wall.Add(time.Duration(24*days-w.Hours) * time.Hour).Format("2006-01-02T15:04"); err != nil || m.Local != want {
			t.Errorf("%s: local %s, %v, want %s", w.ID, m.Local, err, want)
		}
	}
	// A deadline on the hour of each case is written with that wall time.
	stale := giveaway.StaleZones()
	for _, c := range f.Cases {
		for _, at := range c.UTC {
			terms := bootTerms()
			terms.Event.Zone = c.Zone
			if len(stale) > 0 && strings.Contains(strings.Join(stale, " "), c.Zone) {
				t.Logf("%s: this computer's zone data are old", c.ID)
				continue
			}
			wall, _ := time.Parse("2006-01-02T15:04", c.Local)
			want := wall.Format("Monday 2 January 2006, 3:04 pm")
			lines := strings.Split(both(utc(at), terms), "\n")
			if !strings.HasPrefix(lines[0], want) || len(lines) != 2 || !strings.HasPrefix(lines[1], utc(at).Format("Monday 2 January 2006, ")) {
				t.Errorf("%s: got %q, want %q", c.ID, lines, want)
			}
		}
	}
	for _, c := range []struct{ at, want string }{ // rounded up to the hour
		{"2026-12-11T20:00:00Z", "2026-12-18T20:00:00Z"}, {"2026-12-11T20:00:01Z", "2026-12-18T21:00:00Z"}, {"2026-12-31T23:59:59Z", "2027-01-08T00:00:00Z"},
	} {
		at, _ := time.Parse(time.RFC3339, c.at)
		if got := Deadline(at, 7).Format(time.RFC3339); got != c.want {
			t.Errorf("%s: got %s, want %s", c.at, got, c.want)
		}
	}
}

// What is sealed reads back to the same value.
func TestAnswerJSON(t *testing.T) {
	f := goodForm()
	f.Line1 = "12 Elm Street # 4"
	a, _ := Decide(f, bootTerms(), entered())
	a.By, a.At = ByPage, time.Date(2026, 12, 12, 2, 0, 0, 0, time.UTC)
	for _, a := range []Answer{a, {Declined: true, By: ByChat, At: a.At}} {
		text, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		var got Answer
		if err := json.Unmarshal(text, &got); err != nil || !reflect.DeepEqual(got, a) {
			t.Errorf("%v\ngot  %+v\nwant %+v", err, got, a)
		}
	}
}

// A link of one purpose, or of another giveaway, has another hash.
func TestLinkHashes(t *testing.T) {
	seen := map[[32]byte]bool{}
	for _, p := range []purpose{claimLink, askLink, sponsorLink} {
		for _, id := range []string{"", "trail-boots", "other-boots"} {
			seen[p.hash(id, "AAAAAAAAAAAAAAAAAAAAAAAA")] = true
		}
	}
	if len(seen) != 9 {
		t.Errorf("got %d hashes of 9 links", len(seen))
	}
}
