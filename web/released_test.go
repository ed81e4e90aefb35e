package web_test

import (
	"fmt"
	"io/fs"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/web"
)

// A walk is every address of the public side, with what stood there.
type walk map[string]string

// spaces are the parts of an address that a route leaves open, with all that
// can stand there for the giveaway "boots".
type spaces map[string][]string

// walkPublic asks for every address of the public side: each route of the
// site but the creator's, with every value that its parts can have. A route with a
// part that the test does not know fails.
func (r *rig) walkPublic(in spaces) walk {
	r.t.Helper()
	w := walk{}
	for _, route := range r.handler().(*echo.Echo).Routes() {
		if route.Method != http.MethodGet || strings.HasPrefix(route.Path, "/desk") {
			continue
		}
		for _, path := range r.fill(route.Path, in) {
			got := r.get(path)
			got.Header.Del("Date")
			got.Header.Del("X-Request-Id")
			w[path] = fmt.Sprintf("%d\n%s\n%s", got.StatusCode, headers(got.Header), requestIDs.ReplaceAllString(got.body, "request"))
		}
	}
	return w
}

// requestIDs differ from one answer to the next.
var requestIDs = regexp.MustCompile(`\b[0-9a-f]{16}\b`)

func headers(h http.Header) string {
	var lines []string
	for name, values := range h {
		lines = append(lines, name+": "+strings.Join(values, ", "))
	}
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}

var openPart = regexp.MustCompile(`:[a-z]+`)

func (r *rig) fill(path string, in spaces) []string {
	r.t.Helper()
	part := openPart.FindString(path)
	if part == "" {
		return []string{path}
	}
	name := part[1:]
	if name == "secret" { // of which page it is
		name += strings.Trim(path[:strings.Index(path, part)], "/")
	}
	values, ok := in[name]
	if !ok {
		r.t.Errorf("the walk does not know what %s of %s can be", part, path)
	}
	var all []string
	for _, v := range values {
		all = append(all, r.fill(strings.Replace(path, part, v, 1), in)...)
	}
	return all
}

// walked are the spaces of a claim rig's giveaway.
func (r *claimRig) walked() spaces {
	in := spaces{
		"id": {"boots"}, "name": {"style.css"}, "role": {"host", "friend"}, "secretg/:id/c": {strings.Repeat("0", 32)},
		"file": {"opening.txt", "rules.txt", "roll.txt", "excluded.txt", "freeze.txt", "record.txt", "outcome.txt", "outcome.1.txt", "cancelled.txt"},
	}
	in["secretg/boots/c"], in["secretg/boots/a"], in["secrets"] = []string{"none"}, []string{"none"}, []string{"none"}
	for ticket, private := range r.private {
		in["ticket"] = append(in["ticket"], ticket.String())
		in["secretg/boots/r"] = append(in["secretg/boots/r"], private[strings.LastIndex(private, "/")+1:])
	}
	slices.Sort(in["ticket"])
	return in
}

// holdRig is a locked giveaway at the time of its draw.
func holdRig(t *testing.T) *claimRig {
	r := newLockedClaimRig(t)
	r.setTime(event.Add(time.Minute))
	return r
}

// A result that is held back is nowhere on the public side: each address
// answers byte for byte as it did before the draw, though the desk knows the
// result already. It shows by the clock alone after 15 minutes, and earlier if
// it is released.
func TestHeldResultIsNowhere(t *testing.T) {
	for name, early := range map[string]time.Duration{"by the clock": giveaway.HoldAtMost, "released": 20 * time.Second} {
		t.Run(name, func(t *testing.T) {
			r := holdRig(t)
			in := r.walked()
			before := r.walkPublic(in)
			if len(before) < 40 {
				t.Fatalf("only %d addresses", len(before))
			}
			g, err := r.host.DrawHeld(t.Context(), r.now(), "boots", nil)
			must(t, err)
			report := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{})
			if report.Record == nil || report.Seed == nil || !g.Held(r.now()) {
				t.Fatalf("%s: no draw that is held back", report.Verdict)
			}
			if name == "released" {
				_, err = r.host.Release(t.Context(), "boots", r.now().Add(early))
				must(t, err)
			}
			r.sameWalk("just drawn", before, r.walkPublic(in))

			r.setTime(g.Drawn.Add(early - time.Second))
			held := r.walkPublic(in)
			for what, needle := range needles(report) {
				for path, text := range held {
					if strings.Contains(text, needle) && !strings.Contains(before[path], needle) {
						t.Errorf("%s stands at %s while the result is held back", what, path)
					}
				}
			}
			r.setTime(g.Drawn.Add(early))
			out := r.walkPublic(in)
			for what, needle := range needles(report) {
				found := 0
				for path, text := range out {
					if strings.Contains(text, needle) && !strings.Contains(before[path], needle) {
						found++
					}
				}
				if found == 0 {
					t.Errorf("%s stands nowhere after the release: the search would not find it", what)
				}
			}
			if !strings.HasPrefix(out["/g/boots/fair/record.txt"], "200") {
				t.Errorf("record.txt: %.100s", out["/g/boots/fair/record.txt"])
			}
		})
	}
}

// sameWalk fails where an address answers otherwise than before.
func (r *rig) sameWalk(when string, before, after walk) {
	r.t.Helper()
	for path, text := range after {
		if was, ok := before[path]; !ok || was != text {
			r.t.Errorf("%s: %s changed:\n%.600s\nwas\n%.600s", when, path, text, was)
		}
	}
	if len(before) != len(after) {
		r.t.Errorf("%s: %d addresses, before %d", when, len(after), len(before))
	}
}

// needles are what nobody may learn of a result that is held back.
func needles(r draw.Report) map[string]string {
	first := r.Record.Places[0].Ticket
	n := map[string]string{
		"the draw number":         r.Seed.String(),
		"the winner":              "came first",
		"the winner's number":     draw.Score(*r.Seed, first).String(),
		"the winner's own number": web.ShareOf(draw.Score(*r.Seed, first)),
	}
	for _, s := range r.Record.Secrets {
		n["the secret of "+s.Role] = fmt.Sprintf("%x", s.Value)
	}
	return n
}

// The list of the files leaves out those of the result, and so does every way
// to open one.
func TestUnreleasedFiles(t *testing.T) {
	r := holdRig(t)
	g, err := r.host.DrawHeld(t.Context(), r.now(), "boots", nil)
	must(t, err)
	_, err = r.host.Confirm(t.Context(), r.now(), "boots", 1)
	must(t, err)
	names := func(at time.Time) (all []string) {
		list, err := fs.ReadDir(web.PublicFiles(r.config, g, at), ".")
		must(t, err)
		for _, f := range list {
			all = append(all, f.Name())
		}
		return all
	}
	held, out := names(r.now()), names(g.Released)
	if !slices.Equal(held, []string{"excluded.txt", "freeze.txt", "opening.txt", "roll.txt", "rules.txt"}) || len(out) != len(held)+2 {
		t.Errorf("held back %v, after it %v", held, out)
	}
	for _, name := range []string{"record.txt", "outcome.txt"} {
		if _, err := fs.ReadFile(web.PublicFiles(r.config, g, r.now()), name); err == nil {
			t.Errorf("%s can be read", name)
		}
		if _, err := fs.Stat(web.PublicFiles(r.config, g, r.now()), name); err == nil {
			t.Errorf("%s can be found", name)
		}
		if got := r.get("/g/boots/fair/" + name); got.StatusCode != 404 || got.Header.Get("ETag") != "" {
			t.Errorf("%s: %d, ETag %q", name, got.StatusCode, got.Header.Get("ETag"))
		}
	}
}

// A winner's link and the sponsor's page that were made while a result is held
// back tell nothing of it.
func TestPrivatePagesOfAHeldResult(t *testing.T) {
	r := holdRig(t)
	_, err := r.host.DrawHeld(t.Context(), r.now(), "boots", nil)
	must(t, err)
	sponsor, err := r.clerk.SponsorLink(t.Context(), r.now(), "boots")
	must(t, err)
	page := strings.TrimPrefix(sponsor, r.server.URL)
	link := r.letter(1)
	_, err = r.clerk.Record(t.Context(), r.now(), "boots", 1, claims.ByPhone, claims.Form{
		System: "mens", Size: "10.5", Width: "D", Name: "Rowena Quillfeather", Line1: "12 Thistledown Lane", City: "Portland", State: "ME",
		Postal: "04101", Country: "US", Phone: "(201) 555-0123", Adult: "yes", Eligible: "yes", Sure: "yes"})
	must(t, err)
	_, err = r.clerk.Confirm(t.Context(), r.now(), "boots", 1)
	must(t, err)
	r.get(link).is(t, 404)
	r.post(link, url.Values{}).is(t, 404)
	held := r.get(page)
	held.is(t, 200)
	held.has(t, "There is nobody to send it to yet.")
	r.setTime(r.now().Add(giveaway.HoldAtMost))
	r.get(link).is(t, 200)
	if got := r.get(page); strings.Contains(got.body, "There is nobody to send it to yet.") {
		t.Error("the sponsor's page shows nobody after the release")
	}
}
