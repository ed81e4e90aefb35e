package claims

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
)

// A purpose is what a link is for. It goes into the link's hash, so that no
// link opens another kind of page.
type purpose string

const (
	claimLink   purpose = "claim"
	askLink     purpose = "question"
	sponsorLink purpose = "sponsor"
)

// linkBytes are 144 bits; the draw protocol asks for 128 or more.
const linkBytes = 18

// ClaimPath, AskPath and SponsorPath are the paths of the pages that links
// open.
func ClaimPath(drawID, secret string) string { return "/g/" + drawID + "/c/" + secret }

// AskPath is the path of a question of the sponsor to the winner.
func AskPath(drawID, secret string) string { return "/g/" + drawID + "/a/" + secret }

// SponsorPath is the path of the sponsor's page.
func SponsorPath(secret string) string { return "/s/" + secret }

// hash is what is stored of a link. The draw's id is in it, "" for a sponsor's
// link, whose path has none.
func (p purpose) hash(drawID, secret string) [32]byte {
	return sha256.Sum256([]byte("evenhand " + string(p) + " link\n" + drawID + "\n" + secret))
}

// newSecret makes the secret of a link: 24 characters of base64url.
func (c Clerk) newSecret() (string, error) {
	b := make([]byte, linkBytes)
	if _, err := io.ReadFull(c.Rand, b); err != nil {
		return "", fmt.Errorf("make link: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// validSecret reports whether a secret has the one form in which links are
// handed out.
func validSecret(secret string) bool {
	b, err := base64.RawURLEncoding.Strict().DecodeString(secret)
	return err == nil && len(b) == linkBytes
}
