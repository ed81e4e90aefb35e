package claims

import (
	"strings"

	"github.com/nyaruka/phonenumbers"
)

// maxPhone bounds what is parsed, in bytes.
const maxPhone = 40

// readPhone reads the phone number for the carrier: as one of the country
// that the parcel goes to or, where it is none of those, of the country where
// the winner lives. A number with + names its country itself.
func (d *decision) readPhone() {
	typed := strings.TrimSpace(d.form.Phone)
	if typed == "" {
		d.problem("phone", "Please write a phone number. The carrier may need it; nobody else uses it.")
		return
	}
	countries := []string{d.Address.Country, d.entry.Entry.Live.Country}
	e164, sure := ParsePhone(typed, countries...)
	if e164 == "" {
		d.problem("phone", phoneHint(typed, countries...))
		return
	}
	d.Phone = e164
	if !sure {
		d.doubt(newDoubt("phone", "No such phone number seems to be in use. Is it right?", []string{e164}))
	}
}

// ParsePhone reads a phone number as people of one of the countries write it,
// the first that fits. The result is E.164, "" if it can't be read; sure says
// that the number lies in a range that is in use.
func ParsePhone(typed string, countries ...string) (e164 string, sure bool) {
	if len(typed) > maxPhone {
		return "", false
	}
	for _, country := range countries {
		n, err := phonenumbers.Parse(typed, country)
		if err != nil || n.GetExtension() != "" || phonenumbers.IsPossibleNumberWithReason(n) != phonenumbers.IS_POSSIBLE {
			continue
		}
		text := phonenumbers.Format(n, phonenumbers.E164)
		if phonenumbers.IsValidNumber(n) {
			return text, true
		}
		if e164 == "" {
			e164 = text
		}
	}
	return e164, false
}

// phoneHint says what to do about a number that can't be read.
func phoneHint(typed string, countries ...string) string {
	for _, country := range countries {
		n, err := phonenumbers.Parse(typed, country)
		if err != nil {
			continue
		}
		if n.GetExtension() != "" {
			return "Please write the phone number without an extension."
		}
		switch phonenumbers.IsPossibleNumberWithReason(n) {
		case phonenumbers.TOO_SHORT, phonenumbers.IS_POSSIBLE_LOCAL_ONLY:
			return "This phone number lacks digits. Please write all of it, with the area code."
		case phonenumbers.TOO_LONG:
			return "This phone number has too many digits. Please look at it once more."
		}
	}
	return "We can’t read this phone number. Please write it with + and the country’s number in front."
}

// PhoneShown is an E.164 number in the national form of its country, or in
// international form where that is not the country it is shown for (ISO
// 3166-1 alpha-2). What is no number comes back as it is.
func PhoneShown(e164, country string) string {
	n, err := phonenumbers.Parse(e164, "ZZ")
	if err != nil {
		return e164
	}
	if int(n.GetCountryCode()) == phonenumbers.GetCountryCodeForRegion(country) {
		return phonenumbers.Format(n, phonenumbers.NATIONAL)
	}
	return phonenumbers.Format(n, phonenumbers.INTERNATIONAL)
}
