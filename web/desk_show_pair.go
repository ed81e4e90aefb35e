package web

import (
	"net/http"
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
	"evenhand/show"
)

// A pairPage is where the creator gets the addresses of the evening.
type pairPage struct {
	Frame
	G       giveaway.Giveaway
	Head    string
	Lead    string
	Stages  []address // none: no key stands
	Remote  string    // full address; "": no key stands
	Phone   string    // why no phone can open the remote; "": one can
	Begun   bool
	State   show.State
	Problem string
}

// An address is one form of the stage.
type address struct{ ID, Name, Hint, Link string }

// shown finds the giveaway of the address, which must be posted.
func (d *desk) shown(c echo.Context) (giveaway.Giveaway, error) {
	g, err := d.find(c)
	if err == nil && g.State == giveaway.StateDraft {
		err = giveaway.ErrNotFound
	}
	return g, err
}

func (d *desk) getPair(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	return d.showPair(c, http.StatusOK, g, "")
}

func (d *desk) showPair(c echo.Context, status int, g giveaway.Giveaway, problem string) error {
	st, err := d.cfg.Event.Show.State(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	p := pairPage{Frame: d.frame(g, "Stage and remote", now(c)), G: g, State: st, Begun: st.Version > 0, Problem: problem, Phone: phoneWords(d.cfg.PublicURL),
		Head: "The show needs two addresses.", Lead: "The stage goes into the picture, the remote onto your phone or to a friend. Make them, and keep both to yourself: whoever has the remote can move the stage."}
	if p.Stages, err = d.stageLinks(c, g); err != nil {
		return err
	}
	if p.Remote, err = d.keyLink(c, g.ID, show.KeyRemote); err != nil {
		return err
	}
	if p.Stages != nil && p.Remote != "" {
		p.Head, p.Lead = "Stage and remote have their addresses.", "The stage goes into the picture. The remote moves it and can do nothing else. Both work until you make new ones."
	}
	return d.render(c, status, "desk_show_pair", p)
}

// stageLinks are the stage's forms, none where no key stands.
func (d *desk) stageLinks(c echo.Context, g giveaway.Giveaway) ([]address, error) {
	key, err := d.newestKey(c, g.ID, show.KeyStage)
	if err != nil || key.Secret == "" {
		return nil, err
	}
	link := d.link(stageURL(g.ID, key.Secret))
	all := []address{
		{"full", "A full page", "1920 by 1080, or 1280 by 720", link},
		{"overlay", "Laid over your picture", "for a browser source in your streaming program; its background is clear", link + "&overlay=1"},
		{"tall", "Upright", "1080 by 1920", link + "&tall=1"},
		{"both", "Upright, laid over", "1080 by 1920, clear background", link + "&overlay=1&tall=1"},
		{"evening", "Several giveaways in one evening", eveningWords(g, key), d.link(eveningURL(key.Secret))},
	}
	if giveaway.IsRehearsal(g.ID) {
		return all[:len(all)-1], nil // the evening's stage leaves rehearsals out
	}
	return all, nil
}

// eveningWords say what the evening's stage shows, and from when until when.
func eveningWords(g giveaway.Giveaway, k show.Key) string {
	zone := g.Terms.Event.Zone
	from, until := eveningOf(g, k)
	return "a full page that goes along with whichever show was moved last, from " + stamp("", from, zone).Words +
		" until " + stamp("", until, zone).Words + "; before that it shows this giveaway alone, after that nothing"
}

// newestKey is the newest key of a kind, without Secret if none stands.
func (d *desk) newestKey(c echo.Context, id, kind string) (show.Key, error) {
	keys, err := d.cfg.Event.Keys.KeysOf(c.Request().Context(), id)
	if i := slices.IndexFunc(keys, func(k show.Key) bool { return k.Kind == kind }); i >= 0 {
		return keys[i], nil
	}
	return show.Key{}, err
}

// keyLink is the full address that the newest key of a kind opens, "" if none
// stands.
func (d *desk) keyLink(c echo.Context, id, kind string) (string, error) {
	k, err := d.newestKey(c, id, kind)
	switch {
	case err != nil || k.Secret == "":
		return "", err
	case kind == show.KeyStage:
		return d.link(stageURL(id, k.Secret)), nil
	}
	return d.link(remoteURL(k.Secret)), nil
}

// pairKinds are the keys that a press makes anew.
var pairKinds = map[string][]string{"": {show.KeyStage, show.KeyRemote}, show.KeyStage: {show.KeyStage}, show.KeyRemote: {show.KeyRemote}}

// postPair makes addresses anew; those of before open nothing any more. The
// show begins with its first picture.
func (d *desk) postPair(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	kinds, ok := pairKinds[c.FormValue("kind")]
	if !ok {
		return errMalformed
	}
	if err := d.pair(c, g.ID, kinds); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/show/pair")
}

// pair begins a show where it has not, and makes keys of it anew.
func (d *desk) pair(c echo.Context, id string, kinds []string) error {
	ctx := uncut(c)
	if _, err := d.cfg.Event.Show.Start(ctx, d.cfg.Now().UTC(), id); err != nil {
		return err
	}
	for _, kind := range kinds {
		if err := d.cfg.Event.Keys.RevokeKeys(ctx, id, kind, now(c)); err != nil {
			return err
		}
		k, err := show.NewKey(kind, id, now(c), d.cfg.Rand)
		if err != nil {
			return err
		}
		if err := d.cfg.Event.Keys.AddKey(ctx, k); err != nil {
			return err
		}
	}
	return nil
}

// postDelay sets by how much viewers' pages follow the stage.
func (d *desk) postDelay(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	st, err := d.cfg.Event.Show.State(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	seconds, err := strconv.Atoi(c.FormValue("delay"))
	if err != nil || seconds < 0 || seconds > show.MaxDelay || st.Version == 0 {
		return d.showPair(c, http.StatusUnprocessableEntity, g, "Type a number of seconds from 0 to 120. Nothing was changed.")
	}
	if _, err := d.cfg.Event.Show.SetDelay(uncut(c), g.ID, st.Version, seconds); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/show/pair")
}

// getRemoteQR is the code that a phone's camera opens the remote with.
func (d *desk) getRemoteQR(c echo.Context) error { return d.sendKeyQR(c, show.KeyRemote, "the remote") }

// getStageQR is the code that opens the stage on another screen.
func (d *desk) getStageQR(c echo.Context) error { return d.sendKeyQR(c, show.KeyStage, "the stage") }

func (d *desk) sendKeyQR(c echo.Context, kind, words string) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	link, err := d.keyLink(c, g.ID, kind)
	if err == nil && link == "" {
		err = errNoSuchPage
	}
	if err != nil {
		return err
	}
	q, err := qrOf(link)
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "image/svg+xml", q.svg("QR code of "+words))
}
