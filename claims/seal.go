package claims

import (
	"encoding/json"
	"errors"
	"fmt"
)

// What is sealed, each under a label of its own. A label never changes.
const (
	sealClaimLink   = "evenhand/claims/claim-link/v1"
	sealAskLink     = "evenhand/claims/question-link/v1"
	sealSponsorLink = "evenhand/claims/sponsor-link/v1"
	sealAnswer      = "evenhand/claims/answer/v1"
	sealAsk         = "evenhand/claims/question/v1"
	sealReply       = "evenhand/claims/reply/v1"
	sealMark        = "evenhand/claims/mark/v1"
)

// where binds sealed bytes to a place, and to a question or mark of it, so
// that a row copied elsewhere opens nothing. A draw id has no slash.
func where(drawID string, place, n int) string {
	return fmt.Sprintf("%s/%d/%d", drawID, place, n)
}

// sealed seals a value as JSON.
func (c Clerk) sealed(label, where string, v any) ([]byte, error) {
	data, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("seal %s: not writable", label) // err may bear what was typed
	}
	return c.Seal.Seal(label, where, data)
}

// unseal reads what sealed wrote.
func (c Clerk) unseal(label, where string, sealed []byte, v any) error {
	data, err := c.Seal.Open(label, where, sealed)
	if err != nil {
		return err
	}
	if json.Unmarshal(data, v) != nil {
		return errors.New("open " + label + ": not readable") // the cause may bear what was typed
	}
	return nil
}
