package claims

import (
	"context"
	"errors"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// What callers of a [Clerk] may meet. A [Store] returns the first four.
var (
	// ErrNoSuchLink: the link opens nothing, whatever is wrong with it.
	ErrNoSuchLink = errors.New("no such page")
	// ErrNoClaim: no letter was made for this place; a Store's answer only.
	ErrNoClaim = errors.New("no letter was made for this place")
	// ErrRace: somebody else's step came first. Look again.
	ErrRace = errors.New("somebody else was first")
	// ErrLinkTaken: a random link is in use already; a Store's answer only.
	ErrLinkTaken = errors.New("link already in use")

	// ErrErased: the personal data was deleted. A Store returns it for any
	// step on a claim, or a sponsor's page, from then on.
	ErrErased = errors.New("the personal data was deleted")

	// ErrClosed: the creator closed the page that this link opened.
	ErrClosed = errors.New("this page was closed")
	// ErrOver: the time for this page is over, or its place was passed.
	ErrOver = errors.New("the time for this is over")
	// ErrAnswered: an answer stands, and is final.
	ErrAnswered = errors.New("this was answered already")
	// ErrNoAnswer: there is nothing to confirm yet.
	ErrNoAnswer = errors.New("there is no answer yet")
	// ErrSkill: the skill question was not answered rightly yet; see [Skill].
	ErrSkill = errors.New("the skill question was not answered rightly")
	// ErrChanged: what the step was about has changed since it was seen.
	ErrChanged = errors.New("this was changed meanwhile")
	// ErrNotConfirmed: the sponsor's side begins when the place is confirmed.
	ErrNotConfirmed = errors.New("this place is not confirmed")
)

// A Rejected form is an error that bears what to put right. Use errors.As.
type Rejected struct {
	Fields []Problem
	Form   Form // to show again; its Seen has the keys of the doubts in Fields
}

func (r *Rejected) Error() string { return "claim has fields to put right" }

// A Row is what is stored of one place: a claim with its questions and marks.
// Whatever begins with Sealed is opaque to the store.
type Row struct {
	Draw       string
	Place      int
	Ticket     draw.Ticket
	LinkHash   [32]byte
	SealedLink []byte
	Made       time.Time // UTC, whole seconds, as are all

	Noticed, Until time.Time // zero until noticed
	Renewed        time.Time // when the link of that letter was replaced; zero: it stands, or the new letter went out

	SealedAnswer []byte // nil: no answer yet
	Answered     time.Time
	By           string // ByPage, ByChat or ByPhone; "": no answer yet
	Version      int    // how many answers were written: 0 none, 1 the first, 2 a correction …

	Skill SkillRow

	Erased time.Time // when all that is sealed was deleted; zero: it was not

	Asks  []AskRow  // by N
	Marks []MarkRow // by N
}

// A SkillRow is the latest try at the skill question; the zero value: none yet.
type SkillRow struct {
	Again    int       // how many more tries the creator gave
	Allowed  time.Time // when the last of those was given
	Shown    time.Time // when the winner saw the sum of this try
	Answered time.Time
	Outcome  string // SkillRight, SkillWrong or SkillLate; "" until answered
}

// An AskRow is one question of the sponsor.
type AskRow struct {
	N           int // from 1
	Kind        string
	LinkHash    [32]byte
	SealedLink  []byte
	SealedAsk   []byte
	Asked       time.Time
	Noticed     time.Time // when the letter with it was copied first; zero: not yet
	SealedReply []byte    // nil: not answered
	Replied     time.Time
}

// A MarkRow is one mark of the sponsor.
type MarkRow struct {
	N           int // from 1
	Kind        string
	SealedWords []byte
	At          time.Time
}

// A SponsorRow is one link of a sponsor's page.
type SponsorRow struct {
	Draw       string
	LinkHash   [32]byte
	SealedLink []byte
	Made       time.Time
	Revoked    time.Time // zero: it opens the page
}

// A Store keeps claims. Each method that changes something is one durable
// transaction with a compare-and-swap; nothing has changed where it returns
// an error. It never sees an answer, an address, words or a link in clear.
type Store interface {
	// Claims returns the rows of a giveaway by place, none for an unknown id.
	Claims(ctx context.Context, drawID string) ([]Row, error)
	// Claim returns one row. [ErrNoClaim].
	Claim(ctx context.Context, drawID string, place int) (Row, error)
	// ClaimByLink finds a row by the hash of its link. [ErrNoSuchLink].
	ClaimByLink(ctx context.Context, drawID string, linkHash [32]byte) (Row, error)
	// ClaimByAsk finds a row by the hash of the link of one of its questions,
	// and says which one. [ErrNoSuchLink].
	ClaimByAsk(ctx context.Context, drawID string, linkHash [32]byte) (Row, int, error)

	// AddClaim writes Draw, Place, Ticket, LinkHash, SealedLink and Made of a
	// new row. If the place has one, nothing changes and the error is
	// ErrRace. [ErrLinkTaken].
	AddClaim(ctx context.Context, r Row) error
	// RenewLink replaces the link of a claim without an answer, if it is still
	// the one whose hash is from, and writes the line into the giveaway's log.
	// Made is the line's time, and Renewed as well where the row was noticed;
	// the old link opens nothing from then on. [ErrRace], [ErrNoClaim],
	// [ErrLinkTaken].
	RenewLink(ctx context.Context, drawID string, place int, from, to [32]byte, sealedLink []byte, line giveaway.LogLine) error
	// Notice writes Noticed and Until where the row has none yet, or was
	// renewed since. Otherwise nothing changes and the error is ErrRace.
	// [ErrNoClaim].
	Notice(ctx context.Context, drawID string, place int, at, until time.Time) error
	// Answer writes an answer if the row's Version is from, and adds one to
	// Version. [ErrRace], also where the latest mark says that the parcel was
	// sent; [ErrNoClaim].
	Answer(ctx context.Context, drawID string, place, from int, sealed []byte, by string, at time.Time) error

	// ShowSkill writes when the sum was shown, if Skill.Again is again and it
	// was not shown yet. [ErrRace], [ErrNoClaim].
	ShowSkill(ctx context.Context, drawID string, place, again int, at time.Time) error
	// AnswerSkill writes what came of the sum, if Skill.Again is again, it was
	// shown and nothing came of it yet. [ErrRace], [ErrNoClaim].
	AnswerSkill(ctx context.Context, drawID string, place, again int, outcome string, at time.Time) error
	// SkillAgain begins another try, given at the line's time, and writes the
	// line into the giveaway's log, if Skill.Again is again, the sum was shown
	// and was not answered rightly. [ErrRace], [ErrNoClaim].
	SkillAgain(ctx context.Context, drawID string, place, again int, line giveaway.LogLine) error

	// AddMark writes mark m.N, which is saw.Marks+1, if the place is as saw
	// says, and with it, if a is not nil, question a.N if it has a.N−1
	// questions. [ErrRace], [ErrNoClaim], [ErrLinkTaken].
	AddMark(ctx context.Context, drawID string, place int, saw Saw, m MarkRow, a *AskRow) error
	// NoticeAsk writes Noticed of question n if it has none yet. [ErrRace];
	// [ErrNoClaim] where there is no such question.
	NoticeAsk(ctx context.Context, drawID string, place, n int, at time.Time) error
	// Reply writes SealedReply and Replied of question n if it has none yet and
	// the place is as saw says. [ErrRace]; [ErrNoClaim] where there is no such
	// question.
	Reply(ctx context.Context, drawID string, place int, saw Saw, n int, sealed []byte, at time.Time) error

	// SponsorLinks returns a giveaway's links, those that were revoked as
	// well, oldest first (by Made, then hash).
	SponsorLinks(ctx context.Context, drawID string) ([]SponsorRow, error)
	// SponsorByLink finds a link that is not revoked, of any giveaway, by its
	// hash. [ErrNoSuchLink]; [ErrClosed] for one that was revoked; [ErrErased]
	// for one that was revoked as the giveaway's data was deleted.
	SponsorByLink(ctx context.Context, linkHash [32]byte) (SponsorRow, error)
	// AddSponsorLink writes a new link. A giveaway has one at most that is
	// not revoked: [ErrRace] if there is one. [ErrLinkTaken].
	AddSponsorLink(ctx context.Context, r SponsorRow) error
	// RevokeSponsorLink revokes a giveaway's link that is not revoked; none
	// there is no error.
	RevokeSponsorLink(ctx context.Context, drawID string, at time.Time) error
	// AddVisit notes a visit to the sponsor's page.
	AddVisit(ctx context.Context, drawID string, at time.Time) error
	// Visits returns the times of all visits, oldest first.
	Visits(ctx context.Context, drawID string) ([]time.Time, error)
}

// Entries find the entry behind a drawn ticket.
type Entries interface {
	// EntryByTicket returns the entry; its LinkHash may be left zero.
	// [entries.ErrNoSuchLink] if the giveaway has no such ticket.
	EntryByTicket(ctx context.Context, drawID string, t draw.Ticket) (entries.Stored, error)
}

// A Sealer seals what a database must not give away. *vault.Vault is one.
type Sealer interface {
	Seal(label, draw string, secret []byte) ([]byte, error)
	Open(label, draw string, sealed []byte) ([]byte, error)
}
