package giveaway

import (
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/sizing"
)

// Terms is everything that is agreed about a giveaway before it opens. It is
// one JSON value; [ReadTerms] gives its exact form. The zero value is not
// valid; see [Terms.Validate].
type Terms struct {
	Draw    string `json:"draw"`            // the draw id: a-z, 0-9 and hyphens, 64 at most
	Channel string `json:"channel"`         // who gives it away, as the public knows them
	Host    string `json:"host,omitempty"`  // public contact, such as a mail address; may be ""
	Title   string `json:"title"`           // heading of the entry page
	Prize   string `json:"prize"`           // the prize in words; all winners get an equal one
	Sponsor string `json:"sponsor"`         // who sends the prize
	Value   string `json:"value,omitempty"` // what the prize is worth, in words; see [Terms.ValueWords]

	SponsorAddress string `json:"sponsor_address,omitempty"` // postal address of the sponsor, one line; for the rules
	Worth          *Worth `json:"worth,omitempty"`           // retail value of one prize; nil: no sum was given
	Disclosure     string `json:"disclosure,omitempty"`      // the sentence that says who gave the prize: posted under the video and said aloud

	Opens  Moment `json:"opens"`  // the first moment at which entries are taken
	Closes Moment `json:"closes"` // the first moment at which they no longer are
	Event  Moment `json:"event"`  // the live draw is not made before it

	Winners     int `json:"winners"`      // equal prizes, 1 or more
	Alternates  int `json:"alternates"`   // next in line, 0 or more
	AnswerDays  int `json:"answer_days"`  // days that a winner has to answer; 7 where left out
	LockMinutes int `json:"lock_minutes"` // minutes before the event at which the list locks itself; 30 where left out, 10 at least

	Sizes     *SizeTerms         `json:"sizes,omitempty"` // nil: something without sizes
	Region    eligibility.Region `json:"region"`
	MinAge    int                `json:"min_age,omitempty"`  // years; 0: age is not asked
	Barred    []string           `json:"barred,omitempty"`   // who may not win: an e-mail address bars that address, anything else is a sentence to show
	Carriers  string             `json:"carriers,omitempty"` // who delivers: CarriersPost, CarriersPrivate, or "": not said, so winners with a PO Box are asked
	Steps     string             `json:"steps,omitempty"`    // the creator's own steps in one sentence, or ""
	Questions []Question         `json:"questions,omitempty"`

	StepKinds  []string `json:"step_kinds,omitempty"`  // what the steps ask for: StepFollow, StepShare …; each once
	BarredTick bool     `json:"barred_tick,omitempty"` // the form asks for a tick that one is none of the Barred
	KeepDays   int      `json:"keep_days,omitempty"`   // days from the end of all handling until personal data are deleted; 90 where left out
	Filed      []string `json:"filed,omitempty"`       // states of the US where the promotion was filed: "NY", "FL", "RI"
	Seconds    []Second `json:"seconds,omitempty"`     // second secrets, by role ascending; 7 at most

	Beacon  string `json:"beacon"`            // BeaconQuicknet (also where left out) or BeaconNone
	Follows string `json:"follows,omitempty"` // draw id of the cancelled draw that this one replaces

	Rules        string    `json:"rules,omitempty"`         // the text of rules.txt; "": written from the terms when they are posted, see [Terms.RulesText]
	RulesWritten bool      `json:"rules_written,omitempty"` // Rules is what RulesText wrote; set when the terms are posted
	RulesDate    time.Time `json:"rules_date,omitzero"`     // when it was written, a whole second in UTC; set with RulesWritten
	Paragraphs   string    `json:"paragraphs,omitempty"`    // the creator's own paragraphs at the end of written rules, Markdown
}

// Worth is a sum of money.
type Worth struct {
	Cents    int64  `json:"cents"`    // hundredths, 1 or more
	Currency string `json:"currency"` // ISO 4217: USD CAD GBP EUR AUD NZD
}

// A Second is a secret of somebody besides the host, locked in with the terms.
type Second struct {
	Role string      `json:"role"` // as the draw protocol has it; not HostRole
	Who  string      `json:"who"`  // as pages name them
	Hash draw.Digest `json:"hash"` // of their seal
}

// What Terms.StepKinds may name.
const (
	StepFollow = "follow" // follow, like or subscribe
	StepShare  = "share"  // post or share something
	StepReview = "review" // write a review
	StepRefer  = "refer"  // bring somebody else
	StepPay    = "pay"    // buy, give or pay something
	StepOther  = "other"
)

// What Terms.Beacon may say.
const (
	BeaconQuicknet = "quicknet"
	BeaconNone     = "none" // no public number; the draw is weak and every page says so
)

// What Terms.Carriers may say.
const (
	CarriersPost    = "post"    // the country's post, which reaches PO Boxes and military post
	CarriersPrivate = "private" // others, which as a rule don't
)

// What stands in for a number left out of the terms.
const (
	DefaultAnswerDays  = 7
	DefaultLockMinutes = 30
	DefaultKeepDays    = 90
	LeastLockMinutes   = 10 // a freeze later than this before the event can hardly be seen in time
)

// SizeTerms are the sizes of the prize.
type SizeTerms struct {
	Run   sizing.Run   `json:"run"`   // what the sponsor makes
	Scale sizing.Scale `json:"scale"` // how men's and women's sizes stand to one another
}

// A Question is one of the creator's own on the form.
type Question struct {
	Key      string   `json:"key"`   // a-z, 0-9 and _, beginning with a letter, 32 at most; unique
	Label    string   `json:"label"` // the question in words
	Kind     string   `json:"kind"`  // KindText or KindChoice
	Choices  []string `json:"choices,omitempty"`
	Required bool     `json:"required,omitempty"`
}

// What Question.Kind may say.
const (
	KindText   = "text"
	KindChoice = "choice"
)
