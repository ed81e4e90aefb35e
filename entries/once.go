package entries

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strconv"

	"evenhand/giveaway"
)

const onceBytes = 16 // 128 bits

// NewOnce makes the value of [Form.Once]: 22 characters of base64url, 128
// random bits.
func NewOnce(rand io.Reader) (string, error) {
	b := make([]byte, onceBytes)
	if _, err := io.ReadFull(rand, b); err != nil {
		return "", fmt.Errorf("make a form's own value: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// validOnce reports whether a value has the form that [NewOnce] gives.
func validOnce(once string) bool {
	b, err := base64.RawURLEncoding.Strict().DecodeString(once)
	return err == nil && len(b) == onceBytes
}

// onceLinks is how many links one form's value gives. Who withdraws and sends
// the same form again needs the next one: the old link stays with the old ticket.
const onceLinks = 3

// onceLink is the nth link of an address and a form's own value. Whoever lacks
// the value can't make it, nor can whoever lacks the key: HMAC-SHA-256 (RFC
// 2104), cut to the length of a link (its section 5). No draw id and no value
// has a line break, so no two inputs give one text.
func (i Intake) onceLink(drawID, key, once string, n int) string {
	mac := hmac.New(sha256.New, i.LinkKey[:])
	io.WriteString(mac, "evenhand link of a form\n"+drawID+"\n"+once+"\n"+strconv.Itoa(n)+"\n"+key)
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil)[:linkBytes])
}

// repeats reports whether links are made so that the same form can be told.
func (i Intake) repeats(f Form) bool { return i.LinkKey != [32]byte{} && validOnce(f.Once) }

// again finds what the very same form has brought already: of the same address
// and with the same value of its own. Nobody else is told anything:
// otherwise the cause comes back as it was.
func (i Intake) again(ctx context.Context, drawID, key string, f Form, cause error) (Entered, error) {
	if !i.repeats(f) {
		return Entered{}, cause
	}
	for n := range onceLinks {
		link := i.onceLink(drawID, key, f.Once, n)
		row, err := i.Store.EntryByLink(ctx, drawID, linkHash(drawID, link))
		switch {
		case errors.Is(err, ErrNoSuchLink), err == nil && (row.Withdrawn || row.Entry.Key != key):
			continue
		case err != nil:
			return Entered{}, fmt.Errorf("enter %s: look for the same form: %w", drawID, err)
		}
		t := row.ticketed()
		t.Link = link
		return i.entered(drawID, t, row.Stamp)
	}
	return Entered{}, cause
}

// late finds the entry of a form whose answer was lost and that was sent again
// after closing.
func (i Intake) late(ctx context.Context, g giveaway.Giveaway, f Form, cause error) (Entered, error) {
	a, err := Canonical(f.Email)
	if err != nil || !errors.Is(cause, ErrClosed) {
		return Entered{}, cause
	}
	return i.again(ctx, g.ID, a.Key, f, cause)
}
