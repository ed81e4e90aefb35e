package draw_test

import (
	"encoding/base64"
	"encoding/hex"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// otherChain is a published chain of the same scheme with one of its rounds.
// Source: "other_chain" in testdata/vectors/drand-quicknet.json.
type otherChain struct {
	chain beacon.Chain
	round uint64
	sig   []byte
}

func loadOtherChain(t testing.TB) otherChain {
	t.Helper()
	var v struct {
		Other struct {
			PublicKey string `json:"public_key"`
			Genesis   int64  `json:"genesis_time"`
			Period    int64  `json:"period_seconds"`
			GroupHash string `json:"genesis_seed_group_hash"`
			BeaconID  string `json:"beacon_id"`
			Round     uint64 `json:"round"`
			Signature string `json:"signature"`
		} `json:"other_chain"`
	}
	loadJSON(t, "drand-quicknet.json", &v)
	o := v.Other
	c, err := beacon.New(o.Period, o.Genesis, o.PublicKey, o.GroupHash, o.BeaconID)
	if err != nil {
		t.Fatal(err)
	}
	sig, err := hex.DecodeString(o.Signature)
	if err != nil {
		t.Fatal(err)
	}
	return otherChain{c, o.Round, sig}
}

// t0 keeps the times of a forge as far apart as they are.
const t0 = time.Duration(0)

// useOtherChain moves a forge to the other chain's round.
func useOtherChain(after time.Duration) func(f *forge) {
	return func(f *forge) {
		o := loadOtherChain(f.t)
		by := o.chain.TimeOf(o.round).Sub(f.opening.Event) + after
		f.chain, f.round, f.sig = &o.chain, o.round, o.sig
		for _, at := range []*time.Time{&f.opening.Opens, &f.opening.Closes, &f.opening.Event, &f.frozen, &f.drawn} {
			*at = at.Add(by)
		}
		f.outcomes = []draw.Outcome{{}}
	}
}

func giveOtherChain(f *forge, _ publication, o *draw.Options) { o.Chains = []beacon.Chain{*f.chain} }

// Everything that is valid and seldom seen. Each must have status 0.
func TestUnusual(t *testing.T) {
	for name, set := range map[string]func(f *forge){
		"empty lists":        func(f *forge) { f.roll, f.left, f.outcomes = nil, nil, []draw.Outcome{{}} },
		"empty roll":         func(f *forge) { f.roll, f.outcomes = nil, []draw.Outcome{{}} },
		"empty excluded":     func(f *forge) { f.left = nil },
		"one ticket":         func(f *forge) { f.roll = f.roll[:1] },
		"empty rules":        func(f *forge) { f.rules = []string{""} },
		"rules of any bytes": func(f *forge) { f.rules = []string{"\xff\x00\r\n\ufeff<b>"} },
		"10000 places": func(f *forge) {
			f.opening.Winners, f.opening.Alternates, f.roll, f.left = 1000, 9000, newTickets(t, 3, 10500), nil
		},
		"10000 places, fewer tickets": func(f *forge) { f.opening.Winners, f.opening.Alternates = 10000, 0 },
		"no alternates":               func(f *forge) { f.opening.Alternates = 0 },
		"8 seals":                     func(f *forge) { f.roles = strings.Fields("a b c-1 d e f host z") },
		"all but the host withheld": func(f *forge) {
			f.roles, f.withheld = strings.Fields("a host z"), strings.Fields("a z")
		},
		"16 witnesses": func(f *forge) {
			f.file[draw.FreezeFile] = func(note string) string {
				text, _, _ := strings.Cut(note, "\n\n")
				return note + strings.Repeat(signatureLine(newSigner(t, 9, "witness.example.org"), text+"\n"), 16)
			}
		},
		"witness first, with another algorithm and a name that is no host": func(f *forge) {
			f.file[draw.FreezeFile] = func(note string) string {
				line := "— A/b#c " + base64.StdEncoding.EncodeToString(make([]byte, 5000)) + "\n"
				return strings.Replace(note, "\n\n", "\n\n"+line, 1)
			}
		},
		"a note of exactly 1 MiB": func(f *forge) {
			f.file[draw.FreezeFile] = func(note string) string {
				rest := 1<<20 - len(note) - len("— w ") - 1
				raw := make([]byte, rest/4*3)
				name := strings.Repeat("w", 1+rest%4)
				return note + "— " + name + " " + base64.StdEncoding.EncodeToString(raw) + "\n"
			}
		},
		"year 9999": func(f *forge) {
			f.noBeacon()
			end := time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC)
			f.opening.Event, f.drawn, f.frozen = end, end, end.Add(-time.Hour)
			f.opening.Closes, f.outcomes = end.Add(-2*time.Hour), []draw.Outcome{{}}
		},
		"year 2000": func(f *forge) {
			f.noBeacon()
			f.opening.Opens = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
		},
		"29 February":          func(f *forge) { f.opening.Opens = time.Date(2024, 2, 29, 12, 0, 0, 0, time.UTC) },
		"frozen at closes":     func(f *forge) { f.frozen = f.opening.Closes },
		"drawn at the event":   func(f *forge) { f.drawn = f.opening.Event },
		"drawn a year later":   func(f *forge) { f.drawn, f.outcomes = f.opening.Event.AddDate(1, 0, 0), []draw.Outcome{{}} },
		"event before a round": func(f *forge) { f.opening.Event = f.opening.Event.Add(-2 * time.Second) },
		"three revisions, two with new rules": func(f *forge) {
			f.rules = []string{"A.\n", "B.\n", "C.\n"}
			for i := range 3 {
				f.revise = append(f.revise, func(o *draw.Opening) {
					o.Revised = f.opening.Opens.Add(hours(float64(i + 1)))
					if i == 2 {
						o.Closes = o.Closes.Add(time.Minute)
					}
				})
			}
		},
		"twelve revisions": func(f *forge) {
			for i := range 11 {
				f.revise = append(f.revise, func(o *draw.Opening) {
					o.Revised, o.Closes = f.opening.Opens.Add(hours(float64(i+1))), o.Closes.Add(time.Minute)
				})
			}
		},
		"follows":            func(f *forge) { f.opening.Follows = "trail-boots-1" },
		"draw id of 64":      func(f *forge) { f.opening.Draw = strings.Repeat("a", 64) },
		"draw id of 1":       func(f *forge) { f.opening.Draw = "0" },
		"role of 32":         func(f *forge) { f.roles = []string{"host", "s" + strings.Repeat("-", 30) + "1"} },
		"outcome of nothing": func(f *forge) { f.outcomes = []draw.Outcome{{}} },
		"three winners": func(f *forge) {
			f.opening.Winners = 3
			f.outcomes = []draw.Outcome{
				outcome(confirm(1, 1), confirm(3, 2)),
				outcome(pass(2, draw.NoReply, 25), confirm(1, 1), confirm(3, 2)),
				outcome(pass(2, draw.NoReply, 25), confirm(1, 1), confirm(3, 2), confirm(4, 26)),
			}
		},
		"confirmed turned passed": func(f *forge) {
			f.outcomes = []draw.Outcome{outcome(confirm(1, 1)), outcome(pass(1, draw.Withdrawn, 2)), outcome(pass(1, draw.Withdrawn, 2), confirm(2, 2))}
		},
		"all places passed": func(f *forge) {
			f.outcomes = []draw.Outcome{outcome(pass(1, draw.Declined, 1)), outcome(pass(1, draw.Declined, 1), pass(2, draw.Ineligible, 1)),
				outcome(pass(1, draw.Declined, 1), pass(2, draw.Ineligible, 1), pass(3, draw.Declined, 1)),
				outcome(pass(1, draw.Declined, 1), pass(2, draw.Ineligible, 1), pass(3, draw.Declined, 1), pass(4, draw.NoReply, 30))}
		},
		"alternate passed by its own time, not by place": func(f *forge) {
			// Winners 2: place 2 passes first, so place 3 has its turn by it.
			f.opening.Winners = 2
			f.outcomes = []draw.Outcome{outcome(pass(2, draw.Declined, 1)), outcome(pass(2, draw.Declined, 1), confirm(3, 1.5)),
				outcome(pass(1, draw.NoReply, 24), pass(2, draw.Declined, 1), confirm(3, 1.5)),
				outcome(pass(1, draw.NoReply, 24), pass(2, draw.Declined, 1), confirm(3, 1.5), confirm(4, 24))}
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := newForge(t)
			set(f)
			r := f.check(draw.Options{})
			verdict := strings.TrimSuffix(r.Verdict, ", weak")
			if r.Status != draw.StatusValid || verdict != draw.Valid || r.Stage != draw.StageOutcome {
				t.Errorf("got status %d, %q, stage %s\n%s", r.Status, r.Verdict, r.Stage, lines(r))
			}
		})
	}
}

// Cancelled is never valid, at open and at frozen, weak where the draw is.
func TestCancelled(t *testing.T) {
	for _, stage := range []draw.Stage{draw.StageOpen, draw.StageFrozen} {
		for _, weak := range []bool{false, true} {
			f := newForge(t)
			want := draw.IsCancelled
			if weak {
				f.noBeacon()
				want += ", weak"
			}
			f.stage, f.cancel = stage, &draw.Cancelled{At: f.opening.Closes, Reason: "postponed", Successor: "trail-boots-2"}
			r := f.check(draw.Options{})
			if r.Status != 0 || r.Verdict != want || r.Stage != stage || r.Cancelled == nil {
				t.Errorf("got %d %q at %s, want %q at %s\n%s", r.Status, r.Verdict, r.Stage, want, stage, lines(r))
			}
		}
	}
	f := newForge(t)
	f.cancel = &draw.Cancelled{At: f.drawn, Reason: "postponed"}
	if r := f.check(draw.Options{}); r.Status != draw.StatusFault || !faultAt(r, draw.CancelledFile) {
		t.Errorf("beside a record: got %d\n%s", r.Status, lines(r))
	}
}
