package web

import (
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// An Intake takes entries and their changes; [entries.Intake] is one.
type Intake interface {
	// Enter takes an entry. Errors: *entries.Rejected, entries.ErrAlreadyIn,
	// entries.ErrClosed, entries.ErrNotOpen.
	Enter(ctx context.Context, now time.Time, g giveaway.Giveaway, f entries.Form) (entries.Entered, error)
	// Replace takes an entry in the place of the one of a private link, which
	// is withdrawn in the same step. Errors as those of Enter, and
	// entries.ErrNoSuchLink, entries.ErrWithdrawn.
	Replace(ctx context.Context, now time.Time, g giveaway.Giveaway, link string, f entries.Form) (entries.Entered, error)
	// Mine finds what a private link opens; entries.ErrNoSuchLink also for a
	// link that could not be one.
	Mine(ctx context.Context, drawID, link string) (entries.Private, error)
	// ChangeSize takes system, size and width of the form. Errors:
	// *entries.Rejected, entries.ErrLocked, entries.ErrWithdrawn,
	// entries.ErrNoSuchLink.
	ChangeSize(ctx context.Context, now time.Time, g giveaway.Giveaway, link string, f entries.Form) (entries.Private, error)
	// Withdraw takes the ticket out of the draw. Twice is no error.
	Withdraw(ctx context.Context, now time.Time, drawID, link string) error
}

// Config is everything that a [Site] is made of. Fields without a default are
// required.
type Config struct {
	Host   giveaway.Host // reads giveaways (its Store) and makes their moves
	Intake Intake
	// Claims carries prizes from the drawn place to the parcel. Nil: there are
	// no pages for it.
	Claims *claims.Clerk
	// MarkedKey tells the page that follows a sponsor's mark from a visit of its
	// own; see sponsor_page.go. Zero: each is a visit.
	MarkedKey [32]byte
	// Event is the live event. Nil: there is none, and no pages for it.
	Event *Event
	// PublicURL is the address that links carry, without a slash at its end,
	// such as https://win.example.org.
	PublicURL *url.URL
	Now       func() time.Time // read once a request
	Rand      io.Reader        // a secure source, for request ids
	Log       *slog.Logger
	// Ready tells whether the database answers; nil: it always does.
	Ready func(ctx context.Context) error
	// CheckRelays are what a viewer's browser asks for the public number, on the
	// check page. Nil: the public ones, which the page's script knows. Only
	// tests set others: no host decides whom a viewer's check believes.
	CheckRelays []string
	// Proxies are the networks whose X-Forwarded-For is believed. None: the
	// address that the connection comes from is the client's.
	Proxies []netip.Prefix
	// Limits of requests from one network; the zero value is [DefaultLimits].
	Limits Limits
	Desk   Desk // what only the creator's side needs
}

// A Site serves all addresses of one installation.
type Site struct {
	cfg     Config
	pages   pages
	assets  assets
	checks  checks
	ranks   ranks
	imports lastRead // of the desk's files
	hub     *hub     // of the live event
	posts   *limiter // unsafe requests
	private *limiter // private links
	cross   *http.CrossOriginProtection
}

// New makes the handler. It panics when a template is broken, so that a
// program with such a one does not start.
func New(cfg Config) http.Handler {
	if cfg.Limits == (Limits{}) {
		cfg.Limits = DefaultLimits
	}
	s := &Site{
		cfg:     cfg,
		assets:  loadAssets(),
		checks:  checks{byDraw: map[checkedOf]*checked{}},
		posts:   newLimiter(cfg.Limits.Posts),
		private: newLimiter(cfg.Limits.Private),
		cross:   http.NewCrossOriginProtection(),
	}
	s.pages = loadPages(s.assets)
	s.hub = newHub(cfg.Event, cfg.Now, cfg.Log)
	if err := s.cross.AddTrustedOrigin(cfg.PublicURL.Scheme + "://" + cfg.PublicURL.Host); err != nil {
		panic("web: public address: " + err.Error())
	}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.IPExtractor = clientAddress(cfg.Proxies)
	e.HTTPErrorHandler = s.fail
	e.Use(s.identify, s.log, s.recover, s.secure, s.sameOrigin, slashless)
	s.routes(e)
	s.claimRoutes(e)
	s.secondRoutes(e)
	s.liveRoutes(e)
	s.deskRoutes(e)
	return e
}

// clientAddress says where the address of a client comes from. Only the
// proxies named are believed, no others by habit.
func clientAddress(proxies []netip.Prefix) echo.IPExtractor {
	if len(proxies) == 0 {
		return echo.ExtractIPDirect()
	}
	trust := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		p = p.Masked()
		bits := p.Addr().BitLen()
		trust = append(trust, echo.TrustIPRange(&net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), bits)}))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}

// giveaway reads the giveaway of the address, as the public may know it now: a
// draft is not there for anybody outside the desk, and while a result is held
// back the list is locked and nothing is drawn. The log line of the request
// gets its id.
func (s *Site) giveaway(c echo.Context) (giveaway.Giveaway, error) {
	id := c.Param("id")
	if !draw.ValidID(id) || giveaway.IsRehearsal(id) {
		return giveaway.Giveaway{}, giveaway.ErrNotFound
	}
	g, err := s.cfg.Host.Store.Giveaway(c.Request().Context(), id)
	if err == nil && g.State == giveaway.StateDraft {
		err = giveaway.ErrNotFound
	}
	g = g.AsPublic(now(c))
	if err == nil {
		c.Set(keyDraw, g.ID)
		c.Set(keyGiveaway, g)
	}
	return g, err
}

// link is a full address of this site.
func (s *Site) link(path string) string { return s.cfg.PublicURL.String() + path }
