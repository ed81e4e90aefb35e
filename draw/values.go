package draw

import (
	"errors"
	"regexp"
	"strconv"
	"time"
)

// timeLayout is UTC in whole seconds.
const timeLayout = "2006-01-02T15:04:05Z"

var (
	idForm     = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]{0,62}[a-z0-9])?$`)
	roleForm   = regexp.MustCompile(`^[a-z]([a-z0-9-]{0,30}[a-z0-9])?$`)
	signerForm = regexp.MustCompile(`^[a-z0-9]([a-z0-9.-]{0,251}[a-z0-9])?$`)
	numberForm = regexp.MustCompile(`^(0|[1-9][0-9]{0,14})$`)
	sizeForm   = regexp.MustCompile(`^[A-Za-z0-9./-]{1,12}$`)
	shipForm   = regexp.MustCompile(`^[A-Z]{2}$`)
)

// ValidID tells whether s is a draw id.
func ValidID(s string) bool { return idForm.MatchString(s) }

// ValidRole tells whether s names the holder of a seal, or a reason to cancel.
func ValidRole(s string) bool { return roleForm.MatchString(s) }

// ValidSigner tells whether s is a signer's name: a lower-case host name.
func ValidSigner(s string) bool { return signerForm.MatchString(s) }

// FormatTime prints t in UTC, dropping what is smaller than a second.
func FormatTime(t time.Time) string { return t.UTC().Format(timeLayout) }

// ParseTime reads the one form that FormatTime prints, for a real date from
// the year 2000 to 9999 with seconds 00 to 59.
func ParseTime(s string) (time.Time, error) {
	t, err := time.Parse(timeLayout, s)
	if err != nil || FormatTime(t) != s || t.Year() < 2000 {
		return time.Time{}, errors.New("want a time such as 2006-01-02T15:04:05Z, from the year 2000")
	}
	return t, nil
}

// parseNumber reads 0 or up to 15 digits without a leading zero.
func parseNumber(s string) (int64, error) {
	if !numberForm.MatchString(s) {
		return 0, errors.New("want a number of up to 15 digits without a leading zero")
	}
	return strconv.ParseInt(s, 10, 64)
}
