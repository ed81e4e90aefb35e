package giveaway

import (
	"evenhand/eligibility"
	"evenhand/sizing"
)

// Terms is everything that is agreed about a giveaway before it opens. It is
// one JSON value; [ReadTerms] gives its exact form. The zero value is not
// valid; see [Terms.Validate].
type Terms struct {
	Draw    string `json:"draw"`           // the draw id: a-z, 0-9 and hyphens, 64 at most
	Channel string `json:"channel"`        // who gives it away, as the public knows them
	Host    string `json:"host,omitempty"` // public contact, such as a mail address; may be ""
	Title   string `json:"title"`          // heading of the entry page
	Prize   string `json:"prize"`          // the prize in words; all winners get an equal one
	Sponsor string `json:"sponsor"`        // who sends the prize
	Value   string `json:"value,omitempty"`

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

	Beacon  string `json:"beacon"`            // BeaconQuicknet (also where left out) or BeaconNone
	Follows string `json:"follows,omitempty"` // draw id of the cancelled draw that this one replaces
	Rules   string `json:"rules"`             // the text of rules.txt
}

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
