package web_test

import (
	"net/url"
	"regexp"
	"strings"
	"testing"

	"evenhand/giveaway"
	"evenhand/sizing"
)

// Whoever lost the private page is told whom to ask, the channel where the
// terms name nobody, and on no other page.
func TestLostPageHasAWayOn(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	r.open("mute", func(x *giveaway.Terms) { x.Host = "" })
	private, _ := r.enter("boots", "robin@example.com")
	const ask = "Lost that page? Ask hello@slowmiles.example."
	again := r.post("/g/boots", goodForm("robin@example.com"))
	again.is(t, 409)
	again.has(t, ask)
	wrong := r.get(private[:len(private)-1])
	wrong.is(t, 404)
	wrong.has(t, ask)
	r.get("/g/boots/t/K7QF").lacks(t, "Lost that page?")
	r.enter("mute", "robin@example.com")
	r.post("/g/mute", goodForm("robin@example.com")).has(t, "Lost that page? Ask Slow Miles, where you found this giveaway")
}

// The line about a friend, and the question where to send it, stand only where
// somebody may live where the parcel can't go.
func TestFriendOnlyWhereItHelps(t *testing.T) {
	r := newRig(t)
	for id, c := range map[string]struct {
		live, ship   []string
		where, offer bool
	}{
		"us-us":     {[]string{"US"}, []string{"US"}, false, false},
		"us-both":   {[]string{"US"}, []string{"US", "CA"}, true, false},
		"both-us":   {[]string{"US", "DE"}, []string{"US"}, true, true},
		"anywhere":  {nil, []string{"US"}, true, true},
		"sent-all":  {[]string{"US", "DE"}, nil, true, false},
		"same-both": {[]string{"CA", "US"}, []string{"US", "CA"}, true, false},
	} {
		r.open(id, func(x *giveaway.Terms) { x.Region.Live, x.Region.Ship = c.live, c.ship })
		page := r.get("/g/" + id)
		if got := strings.Contains(page.body, "Where to send it"); got != c.where {
			t.Errorf("%s: asks where to send it: %v, want %v", id, got, c.where)
		}
		if got := strings.Contains(page.body, `name="friend"`); got != c.offer {
			t.Errorf("%s: offers a friend: %v, want %v", id, got, c.offer)
		}
		if got := strings.Contains(page.body, "If you live where the parcel can’t go, tick this: without such a friend you can’t enter."); got != c.offer {
			t.Errorf("%s: says that such a friend is needed: %v, want %v", id, got, c.offer)
		}
	}
}

// Whoever lives where the parcel can't go is asked for a friend, with all that
// they typed and nothing ticked for them; who then ticks it is in. Where a
// friend would not help, the refusal stands, and says what became of the form.
func TestFriendIsAskedFor(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	abroad := func(change ...string) url.Values {
		return with(with(goodForm("kim@example.org"), "live", "DE", "state", "", "ship_state", "ME"), change...)
	}
	for _, ship := range []string{"", "US"} { // home, as the form proposes it; or where the friend lives
		got := r.post("/g/boots", abroad("ship", ship))
		got.is(t, 422)
		got.has(t, "One thing more is needed.", "What you typed still stands below.", `href="#f-friend"`, `id="f-friend-fault"`,
			"The parcel can’t go to Germany, where you live. If a friend in the United States can receive it for you, tick this box and send",
			`value="kim@example.org"`, `value="10.5"`, `<option value="DE" selected>`)
		got.lacks(t, "none of what you typed was stored", `name="friend" aria-describedby="f-friend-hint f-friend-fault" aria-invalid="true" value="yes" checked`)
	}
	state := r.post("/g/boots", abroad("ship", "", "ship_state", ""))
	state.has(t, "One thing more is needed.", "tick this box, then choose their state, and send the form again.")
	more := r.post("/g/boots", abroad("ship", "", "rules", ""))
	more.has(t, "Two things more are needed.", `href="#f-friend"`, `href="#f-rules"`)
	young := r.post("/g/boots", abroad("ship", "", "age", "under-18"))
	young.has(t, "This giveaway is for people who are 18 or over.", "So this is no entry, and none of what you typed was stored.")
	young.lacks(t, "One thing more", "The parcel can’t go")
	got := r.post("/g/boots", abroad("ship", "", "friend", "yes"))
	got.is(t, 303)
	r.get(got.Header.Get("Location")).has(t, "You are in.", "to a friend there, whom you name if you win")
	r.open("home", func(x *giveaway.Terms) { x.Region.Friend = false })
	home := r.post("/g/home", abroad("ship", "US"))
	home.is(t, 422)
	home.lacks(t, "One thing more", `name="friend"`)
}

// The countries where people may live stand first, in a group of their own;
// the others follow, so that nobody searches in vain for theirs.
func TestCountriesAllowedStandFirst(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	r.open("anywhere", func(x *giveaway.Terms) { x.Region.Live = nil })
	page := r.get("/g/boots").body
	_, list, _ := strings.Cut(page, `<select id="f-live"`)
	list, _, _ = strings.Cut(list, "</select>")
	first, rest, found := strings.Cut(list, "</optgroup>")
	if !found || !strings.Contains(first, `<optgroup label="Where entries are taken">`) || strings.Count(first, "<option") != 1+3 {
		t.Errorf("the first group: %s", first)
	}
	for _, c := range []string{"CA", "DE", "US"} { // the terms'
		if !strings.Contains(first, `value="`+c+`"`) || strings.Contains(rest, `value="`+c+`"`) {
			t.Errorf("%s is not in the first group alone", c)
		}
	}
	if !strings.Contains(rest, `value="FR"`) {
		t.Error("France is nowhere")
	}
	if strings.Contains(r.get("/g/anywhere").body, "Where entries are taken") {
		t.Error("a group where everybody may enter")
	}
}

// Without styles no label runs into its hint or field.
func TestLabelsReadWithoutStyles(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, ticket := r.enter("boots", "robin@example.com")
	glued := regexp.MustCompile(`(</label>|class="name">[^<]*</span>)<(span|select|input)`)
	check := func(path string) {
		if m := glued.FindString(r.get(path).body); m != "" {
			t.Errorf("%s: %s", path, m)
		}
	}
	check("/g/boots")
	check(private)
	r.get("/g/boots").has(t, ">Enter, with what stands below</button>", "<button class=\"button\">Enter</button>")
	r.lock("boots")
	r.draw("boots")
	for _, path := range []string{"/g/boots", "/g/boots/fair/", "/g/boots/t/" + ticket} {
		check(path)
	}
}

// On paper a link is its address, so those worth reading there are whole; the
// search box is left out.
func TestPrintedPages(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	_, ticket := r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.draw("boots")
	r.get("/g/boots").has(t, `href="`+r.server.URL+`/g/boots/fair/"`, `href="`+r.server.URL+`/g/boots/rules"`, `<form class="side noprint"`)
	r.get("/g/boots/t/"+ticket).has(t, `href="`+r.server.URL+`/g/boots/fair/"`)
	r.get("/g/boots/fair/").has(t, `<form class="side noprint"`, "Who won", ">Winner<", "<code>go build -o bin/ ./cmd/draw</code>")
}

// A corrected form that is sent twice leads twice to the one new page.
func TestFixSentTwice(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, _ := r.enter("boots", "robin@example.org")
	once := regexp.MustCompile(`name="once" value="([^"]+)"`).FindStringSubmatch(r.get(private + "/fix").body)
	if once == nil {
		t.Fatal("the form has no value of its own")
	}
	form := with(goodForm("robyn@example.org"), "once", once[1])
	first, second := r.post(private+"/fix", form), r.post(private+"/fix", form)
	first.is(t, 303)
	second.is(t, 303)
	if a, b := first.Header.Get("Location"), second.Header.Get("Location"); a != b {
		t.Error("the same form led to two pages")
	}
	r.post(private+"/fix", with(url.Values{}, "email", "third@example.org")).is(t, 409)
}

// The form offers the widths that the terms' sizes come in: men's D and 2E are
// standard and wide, women's B and D too (testdata/facts/sizing.json, widths).
// Letters stand there by themselves where one has no word. What somebody chose
// stays.
func TestWidthsOfTheTerms(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	offered := func(page string) string {
		_, list, _ := strings.Cut(page, ` id="f-width"`)
		list, _, _ = strings.Cut(list, "</select>")
		var values []string
		for _, m := range regexp.MustCompile(`<option value="([^"]*)"`).FindAllStringSubmatch(list, -1) {
			values = append(values, m[1])
		}
		return strings.Join(values, ", ")
	}
	if got := offered(r.get("/g/boots").body); got != "standard, wide" {
		t.Errorf("the form offers %s", got)
	}
	r.get("/g/boots").has(t, `value="standard" selected>standard (men’s D, women’s B)<`, `>wide (men’s 2E, women’s D)<`)
	r.open("mens", func(x *giveaway.Terms) {
		x.Sizes = &giveaway.SizeTerms{Scale: 3, Run: sizing.Run{{System: sizing.Mens, From: 14, To: 28, Step: sizing.HalfSteps, Widths: []string{"D", "2E"}}}}
	})
	r.get("/g/mens").has(t, `>standard (D)<`, `>wide (2E)<`)
	r.open("between", func(x *giveaway.Terms) {
		x.Sizes = &giveaway.SizeTerms{Scale: 3, Run: sizing.Run{
			{System: sizing.Mens, From: 14, To: 28, Step: sizing.HalfSteps, Widths: []string{"D", "E", "2E"}},
			{System: sizing.Womens, From: 10, To: 24, Step: sizing.HalfSteps, Widths: []string{"B", "D"}}}}
	})
	if got := offered(r.get("/g/between").body); got != "standard, wide, B, D, E, 2E" {
		t.Errorf("with men's E the form offers %s", got)
	}
	r.get("/g/between").has(t, `>B, women’s only<`, `>D<`, `>E, men’s only<`, `>2E, men’s only<`)
	form := goodForm("nobody")
	form.Set("width", "4E")
	if got := offered(r.post("/g/boots", form).body); got != "standard, wide, B, D, 2E, 4E" {
		t.Errorf("after 4E was sent it offers %s", got)
	}
}

// Without script, a friend's tick alone asks for the friend's state where it
// is to be chosen: beside that field, with the country already understood.
func TestFriendsStateIsAskedAtItsField(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	form := goodForm("mika@example.com")
	form.Set("live", "DE")
	form.Set("state", "")
	form.Set("ship", "")
	form.Set("ship_state", "")
	form.Set("friend", "yes")
	page := r.post("/g/boots", form)
	page.is(t, 422)
	page.has(t, `href="#f-ship_state"`, `id="f-ship_state-fault"`, `name="ship"`)
	if field := regexp.MustCompile(`<select id="f-ship_state"[^>]*aria-invalid="true"`); !field.MatchString(page.body) {
		t.Error("the field for the friend's state is not marked")
	}
	if chosen := regexp.MustCompile(`(?s)<select id="f-ship".*?<option value="US" selected>`); !chosen.MatchString(page.body) {
		t.Error("the friend's country is not chosen")
	}
}
