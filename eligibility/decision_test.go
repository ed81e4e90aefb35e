package eligibility

import (
	"slices"
	"testing"
	"time"
)

// Half-open: protocol, section "opening.txt": an entry counts in [opens, closes).
func TestWindow(t *testing.T) {
	opens := time.Date(2026, 12, 1, 17, 0, 0, 0, time.UTC)
	closes := time.Date(2026, 12, 11, 1, 30, 0, 0, time.UTC)
	elsewhere := time.FixedZone("", -5*3600)
	for _, c := range []struct {
		name string
		now  time.Time
		code string
	}{
		{"a second early", opens.Add(-time.Second), CodeNotYetOpen},
		{"at opens", opens, ""},
		{"in between, another zone", opens.Add(time.Hour).In(elsewhere), ""},
		{"the last instant", closes.Add(-1), ""},
		{"at closes", closes, CodeWindowClosed},
		{"at closes, another zone", closes.In(elsewhere), CodeWindowClosed},
		{"later", closes.Add(time.Hour), CodeWindowClosed},
	} {
		if got := Window(c.now, opens, closes); got.Code != c.code || got.OK != (c.code == "") {
			t.Errorf("%s: got %+v, want %q", c.name, got, c.code)
		}
	}
}

func TestAge(t *testing.T) {
	want := []AgeRange{{"under-18", "under 18"}, {"18-or-over", "18 or over"}}
	if got := AgeRanges(18); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if AgeRanges(0) != nil || AgeRanges(-1) != nil {
		t.Error("no least age, but a question")
	}
	for _, c := range []struct {
		least  int
		choice string
		code   string
	}{
		{18, "18-or-over", ""}, {18, "18 or over", ""}, {18, " 18 OR OVER ", ""}, {18, "under-18", CodeTooYoung}, {18, "Under 18", CodeTooYoung},
		{18, "", CodeAgeNeeded}, {18, "yes", CodeAgeNeeded}, {18, "21-or-over", CodeAgeNeeded}, {21, "18-or-over", CodeAgeNeeded}, {21, "21-or-over", ""},
		{0, "", ""}, {0, "under-18", ""},
	} {
		if got := Age(c.least, c.choice); got.Code != c.code || got.OK != (c.code == "") {
			t.Errorf("%d, %q: got %+v, want %q", c.least, c.choice, got, c.code)
		}
	}
}

func TestBarredAndRules(t *testing.T) {
	barred := []string{"host@slowmiles.example", "june@larkspur.example"}
	for key, code := range map[string]string{"june@larkspur.example": CodeBarred, "june@larkspur.example.org": "", "": ""} {
		if got := Barred(key, barred); got.Code != code {
			t.Errorf("%q: got %+v, want %q", key, got, code)
		}
	}
	if got := Barred("a@example.org", nil); !got.OK {
		t.Errorf("nobody barred: got %+v", got)
	}
	if Rules(true) != (Decision{OK: true}) || Rules(false).Code != CodeRules {
		t.Errorf("rules: %+v, %+v", Rules(true), Rules(false))
	}
}

// Source: protocol, section "roll.txt and excluded.txt": the reasons there are.
func TestExcludedReason(t *testing.T) {
	for code, want := range map[string]string{
		CodeLiveRegion: "region", CodeShipRegion: "region", CodeAbroadWithoutFriend: "region", CodeStateNeeded: "region",
		CodeUnknownCountry: "region", CodeUnknownState: "region", CodeTooYoung: "ineligible", CodeAgeNeeded: "ineligible",
		CodeBarred: "ineligible", CodeRules: "ineligible", CodeWindowClosed: "ineligible", CodeNotYetOpen: "ineligible", "": "ineligible",
	} {
		if got := (Decision{Code: code}).ExcludedReason(); got != want {
			t.Errorf("%q: got %q, want %q", code, got, want)
		}
	}
	if got := yes().ExcludedReason(); got != "" {
		t.Errorf("accepted: got %q", got)
	}
	if !no(CodeStateNeeded, "", "").Field() || no(CodeTooYoung, "", "").Field() || yes().Field() {
		t.Error("only an unanswered field is a field")
	}
}
