package entries

import (
	"io"
	"time"

	"evenhand/draw"
)

// An Intake takes entries and their changes for all giveaways of one
// installation.
type Intake struct {
	Store  Store
	Signer draw.Signer // signs receipts
	Rand   io.Reader   // a secure source
	// LinkKey makes the link of a form with a value of its own; see
	// [Form.Once]. Zero: all links are random, and no form is known again.
	LinkKey [32]byte
}

// A Ticketed entry has everything that its commitment is made of.
type Ticketed struct {
	Ticket     draw.Ticket
	Salt       [32]byte
	Commitment draw.Digest
	Link       string // secret of the private page, 24 characters of base64url, 144 bits; "" when read back
	Entry      Entry
}

// An Entered entry is what the entrant alone is handed.
type Entered struct {
	Ticketed
	Stamp     Stamp
	Receipt   []byte // the signed note
	EntryText []byte // evenhand/entry/v1
}

// A Private page's content: the same, with where the ticket stands.
type Private struct {
	Entered
	Withdrawn bool
	Erased    time.Time // when the personal data was deleted: then there is no entry text; zero until then
	Reason    string    // "": in the roll; otherwise as in excluded.txt
	Origin    string    // by which door it came: OriginForm, OriginFile or OriginPaper
}
