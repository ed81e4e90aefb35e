package claims

import (
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A Problem is a sentence beside a field, with what may be taken instead; an
// Offer is one click's worth of fields. Field names are those of [Form].
type (
	Problem = entries.Problem
	Offer   = entries.Offer
)

// An Address is a postal address as it was typed, blanks at the ends off.
type Address struct {
	Lines   []string `json:"lines"`           // one to three: street, flat, box
	City    string   `json:"city"`            // or APO, FPO, DPO
	State   string   `json:"state,omitempty"` // a code where the country has a list, otherwise as typed
	Postal  string   `json:"postal,omitempty"`
	Country string   `json:"country"` // ISO 3166-1 alpha-2, as chosen
}

// A Tidy address is what was made of an [Address].
type Tidy struct {
	// Lines are the label below the name: in the US and Canada upper-cased in
	// the post's recommended form, the last one with city, state and code;
	// elsewhere as typed.
	Lines []string `json:"lines"`
	// Country is the country's name in capitals, for a parcel from abroad.
	Country   string               `json:"country"`
	Kind      eligibility.LineKind `json:"kind"`
	Questions []Doubt              `json:"questions,omitempty"` // all, also those answered by sending the same again
	Warnings  []string             `json:"warnings,omitempty"`  // worth telling; nobody is asked
}

// A Doubt is a question where a person may be right. It is answered by
// changing the field, or by sending the same again with its key in
// [Form].Seen.
type Doubt struct {
	Key    string  `json:"key"` // stands for this question about these words; 16 hex digits
	Field  string  `json:"field"`
	Text   string  `json:"text"`
	Offers []Offer `json:"offers,omitempty"`
}

// A Form is what was typed, untouched, whichever way it came. Ticks are ticked
// when they hold "yes", "on", "true" or "1". Empty size fields stand for the
// size that was entered.
type Form struct {
	System   string `json:"system,omitempty"`
	Size     string `json:"size,omitempty"`
	Width    string `json:"width,omitempty"`
	Name     string `json:"name,omitempty"`    // full name for the parcel
	CareOf   string `json:"care_of,omitempty"` // whose address it is, if not the winner's own
	Line1    string `json:"line1,omitempty"`
	Line2    string `json:"line2,omitempty"`
	Line3    string `json:"line3,omitempty"`
	City     string `json:"city,omitempty"`
	State    string `json:"state,omitempty"`
	Postal   string `json:"postal,omitempty"`
	Country  string `json:"country,omitempty"`
	Phone    string `json:"phone,omitempty"`
	Adult    string `json:"adult,omitempty"`    // a tick: as old as the terms ask
	Eligible string `json:"eligible,omitempty"` // a tick: eligible by the rules
	Decline  string `json:"decline,omitempty"`  // a tick: does not want the prize; nothing else is read then
	Seen     string `json:"seen,omitempty"`     // keys of the doubts shown so far, with blanks between
	Sure     string `json:"sure,omitempty"`     // a tick: shown back and right; makes it final
	Skill    string `json:"skill,omitempty"`    // a tick of the creator: the skill question was answered rightly; counts for ByChat and ByPhone alone
}

// How an answer came.
const (
	ByPage  = "page"
	ByChat  = "chat"
	ByPhone = "phone"
)

// An Answer is a claim that was accepted. It is sealed as JSON.
type Answer struct {
	Declined bool        `json:"declined,omitempty"` // does not want the prize; only By, At and Typed are set beside it
	Size     sizing.Size `json:"size,omitzero"`      // zero: something without sizes
	Name     string      `json:"name,omitempty"`
	CareOf   string      `json:"care_of,omitempty"`
	Address  Address     `json:"address"`
	Tidy     Tidy        `json:"tidy"`
	Phone    string      `json:"phone,omitempty"` // E.164; see PhoneShown
	Adult    bool        `json:"adult,omitempty"`
	Eligible bool        `json:"eligible,omitempty"`
	Skill    bool        `json:"skill,omitempty"`   // the skill question was answered rightly by chat or phone, as the creator says
	Changes  []Change    `json:"changes,omitempty"` // what corrections have changed, oldest first
	Typed    Form        `json:"typed"`
	By       string      `json:"by"` // ByPage, ByChat or ByPhone
	At       time.Time   `json:"at"` // UTC, whole seconds
}

// Label is the whole address label: name, care-of line, address. The country
// is not in it; it stands in Tidy.Country.
func (a Answer) Label() []string {
	lines := []string{upper(a.Name)}
	if a.CareOf != "" {
		lines = append(lines, "C/O "+upper(a.CareOf))
	}
	return append(lines, a.Tidy.Lines...)
}

// A Place is everything that the desk knows of one drawn place.
type Place struct {
	giveaway.Stand // place, ticket, score; its turn; whether it was passed or confirmed

	Draw      string
	Erased    time.Time // when the personal data was deleted: of answer, questions and parcel nothing is left but that it was sent; zero until then
	LinkMade  time.Time // zero: no letter yet
	Notice    *Notice   // nil: the letter was not copied yet, or not since its link was replaced
	Lapsed    *Notice   // of the letter before, until the one with the new link is copied
	Answer    *Answer   // with the replies to the sponsor's questions worked in
	Sent      *Answer   // as it was sent at first; nil if there is no answer
	Asks      []Ask     // the sponsor's questions, in order
	Shipping  Shipping
	Skill     Skill      // the skill question, where the rules put one
	Proposals []Proposal // what is proposed to the creator now
	Saw       Saw        // what is seen here; see [Mark].Saw
}

// A Notice is when the letter was copied, and until when to answer.
type Notice struct{ At, Until time.Time }

// The kinds of a sponsor's question.
const (
	AskSize    = "size"
	AskAddress = "address"
)

// An Ask is a question of the sponsor to the winner.
type Ask struct {
	N      int           // from 1, within the place
	Kind   string        // AskSize or AskAddress
	At     time.Time     // when it was asked
	Copied time.Time     // when the creator copied the letter with it; zero: not yet
	Words  string        // the sponsor's own, may be ""
	Offers []sizing.Size // for AskSize: what the sponsor can send instead
	Reply  *Reply        // nil: not answered yet
	Closed bool          // something else has ended it; see closeAsks
}

// Open reports whether the winner can still answer.
func (a Ask) Open() bool { return a.Reply == nil && !a.Closed }

// A Reply is the winner's answer to an [Ask]. It is sealed as JSON.
type Reply struct {
	Declined bool        `json:"declined,omitempty"` // none of the sizes
	Size     sizing.Size `json:"size,omitzero"`
	CareOf   string      `json:"care_of,omitempty"`
	Address  *Address    `json:"address,omitempty"`
	Tidy     *Tidy       `json:"tidy,omitempty"`
	Typed    Form        `json:"typed"`
	At       time.Time   `json:"at"`
	Counts   bool        `json:"-"` // it is worked into the place's answer
}

// The kinds of a sponsor's mark, as they are stored.
const (
	MarkInStock    = "in-stock"
	MarkCantHave   = "cant-have"
	MarkAskAddress = "ask-address"
	MarkShipped    = "shipped"
	MarkDelivered  = "delivered"
)

// A Mark is what the sponsor says of a parcel. Words, Offers, Carrier and
// Number are sealed as JSON; Kind and At are stored in the clear.
type Mark struct {
	Kind    string        `json:"-"`
	At      time.Time     `json:"-"`
	Offers  []sizing.Size `json:"offers,omitempty"`  // MarkCantHave: sizes instead
	None    bool          `json:"none,omitempty"`    // MarkCantHave: nothing else can be sent
	Words   string        `json:"words,omitempty"`   // MarkCantHave, MarkAskAddress
	Carrier string        `json:"carrier,omitempty"` // MarkShipped
	Number  string        `json:"number,omitempty"`  // MarkShipped
	Size    sizing.Size   `json:"size,omitzero"`     // which size it was said of; the clerk writes it
	Saw     string        `json:"saw,omitempty"`     // the [Parcel].Saw that the sponsor had in view; "": whatever stands
}

// Shipping is where the parcel is.
type Shipping struct {
	Marks []Mark // all, in order
}

// Latest is the last mark; false if there is none.
func (s Shipping) Latest() (Mark, bool) {
	if len(s.Marks) == 0 {
		return Mark{}, false
	}
	return s.Marks[len(s.Marks)-1], true
}

// Sent reports whether the parcel is on its way, or there.
func (s Shipping) Sent() bool {
	last, ok := s.Latest()
	return ok && (last.Kind == MarkShipped || last.Kind == MarkDelivered)
}

// asks reports whether a mark asks the winner something.
func (m Mark) asks() bool {
	return m.Kind == MarkAskAddress || m.Kind == MarkCantHave && len(m.Offers) > 0
}

// A Proposal is a pass that a person is asked to confirm.
type Proposal struct {
	Draw   string
	Place  int
	Ticket draw.Ticket
	Reason string    // draw.NoReply, draw.Declined, or draw.Ineligible for a skill question that was not answered rightly
	Since  time.Time // when the period ran out, when the winner declined, or when the question was settled
}

// A Letter is text ready to copy, which the creator sends by hand.
type Letter struct {
	Subject, Text string
	Link          string    // stands in Text as well
	Until         time.Time // when the answer period ends; zero: it has none
	Noticed       bool      // it was copied, so Until is fixed
}
