package eligibility

import (
	"cmp"
	"slices"
	"strings"
)

// Country is one entry of the country list: an ISO 3166-1 alpha-2 code and the
// plain English name that pages show.
type Country struct{ Code, Name string }

// countryData holds the 249 codes of ISO 3166-1. The names are the usual short
// English ones; the tests compare codes and names with the Unicode CLDR data.
const countryData = `AD Andorra
AE United Arab Emirates
AF Afghanistan
AG Antigua and Barbuda
AI Anguilla
AL Albania
AM Armenia
AO Angola
AQ Antarctica
AR Argentina
AS American Samoa
AT Austria
AU Australia
AW Aruba
AX Åland Islands
AZ Azerbaijan
BA Bosnia and Herzegovina
BB Barbados
BD Bangladesh
BE Belgium
BF Burkina Faso
BG Bulgaria
BH Bahrain
BI Burundi
BJ Benin
BL Saint Barthélemy
BM Bermuda
BN Brunei
BO Bolivia
BQ Caribbean Netherlands
BR Brazil
BS Bahamas
BT Bhutan
BV Bouvet Island
BW Botswana
BY Belarus
BZ Belize
CA Canada
CC Cocos (Keeling) Islands
CD Congo (Kinshasa)
CF Central African Republic
CG Congo (Brazzaville)
CH Switzerland
CI Côte d’Ivoire
CK Cook Islands
CL Chile
CM Cameroon
CN China
CO Colombia
CR Costa Rica
CU Cuba
CV Cape Verde
CW Curaçao
CX Christmas Island
CY Cyprus
CZ Czechia
DE Germany
DJ Djibouti
DK Denmark
DM Dominica
DO Dominican Republic
DZ Algeria
EC Ecuador
EE Estonia
EG Egypt
EH Western Sahara
ER Eritrea
ES Spain
ET Ethiopia
FI Finland
FJ Fiji
FK Falkland Islands
FM Micronesia
FO Faroe Islands
FR France
GA Gabon
GB United Kingdom
GD Grenada
GE Georgia
GF French Guiana
GG Guernsey
GH Ghana
GI Gibraltar
GL Greenland
GM Gambia
GN Guinea
GP Guadeloupe
GQ Equatorial Guinea
GR Greece
GS South Georgia and South Sandwich Islands
GT Guatemala
GU Guam
GW Guinea-Bissau
GY Guyana
HK Hong Kong
HM Heard and McDonald Islands
HN Honduras
HR Croatia
HT Haiti
HU Hungary
ID Indonesia
IE Ireland
IL Israel
IM Isle of Man
IN India
IO British Indian Ocean Territory
IQ Iraq
IR Iran
IS Iceland
IT Italy
JE Jersey
JM Jamaica
JO Jordan
JP Japan
KE Kenya
KG Kyrgyzstan
KH Cambodia
KI Kiribati
KM Comoros
KN Saint Kitts and Nevis
KP North Korea
KR South Korea
KW Kuwait
KY Cayman Islands
KZ Kazakhstan
LA Laos
LB Lebanon
LC Saint Lucia
LI Liechtenstein
LK Sri Lanka
LR Liberia
LS Lesotho
LT Lithuania
LU Luxembourg
LV Latvia
LY Libya
MA Morocco
MC Monaco
MD Moldova
ME Montenegro
MF Saint Martin
MG Madagascar
MH Marshall Islands
MK North Macedonia
ML Mali
MM Myanmar
MN Mongolia
MO Macao
MP Northern Mariana Islands
MQ Martinique
MR Mauritania
MS Montserrat
MT Malta
MU Mauritius
MV Maldives
MW Malawi
MX Mexico
MY Malaysia
MZ Mozambique
NA Namibia
NC New Caledonia
NE Niger
NF Norfolk Island
NG Nigeria
NI Nicaragua
NL Netherlands
NO Norway
NP Nepal
NR Nauru
NU Niue
NZ New Zealand
OM Oman
PA Panama
PE Peru
PF French Polynesia
PG Papua New Guinea
PH Philippines
PK Pakistan
PL Poland
PM Saint Pierre and Miquelon
PN Pitcairn Islands
PR Puerto Rico
PS Palestine
PT Portugal
PW Palau
PY Paraguay
QA Qatar
RE Réunion
RO Romania
RS Serbia
RU Russia
RW Rwanda
SA Saudi Arabia
SB Solomon Islands
SC Seychelles
SD Sudan
SE Sweden
SG Singapore
SH Saint Helena
SI Slovenia
SJ Svalbard and Jan Mayen
SK Slovakia
SL Sierra Leone
SM San Marino
SN Senegal
SO Somalia
SR Suriname
SS South Sudan
ST São Tomé and Príncipe
SV El Salvador
SX Sint Maarten
SY Syria
SZ Eswatini
TC Turks and Caicos Islands
TD Chad
TF French Southern Territories
TG Togo
TH Thailand
TJ Tajikistan
TK Tokelau
TL Timor-Leste
TM Turkmenistan
TN Tunisia
TO Tonga
TR Turkey
TT Trinidad and Tobago
TV Tuvalu
TW Taiwan
TZ Tanzania
UA Ukraine
UG Uganda
UM U.S. Outlying Islands
US United States
UY Uruguay
UZ Uzbekistan
VA Vatican City
VC Saint Vincent and the Grenadines
VE Venezuela
VG British Virgin Islands
VI U.S. Virgin Islands
VN Vietnam
VU Vanuatu
WF Wallis and Futuna
WS Samoa
YE Yemen
YT Mayotte
ZA South Africa
ZM Zambia
ZW Zimbabwe`

var (
	countries    = splitData(countryData)
	countryNames = namesByCode(countries)
	byName       = slices.SortedFunc(slices.Values(countries), func(a, b Country) int {
		return cmp.Compare(foldName(a.Name), foldName(b.Name))
	})
)

// Countries lists all countries by name, letters with marks beside their plain
// ones, as a form shows them.
func Countries() []Country { return slices.Clone(byName) }

// CountryName is the name for a code, "" for an unknown code.
func CountryName(code string) string { return countryNames[code] }

// splitData reads lines of "CODE Name".
func splitData(data string) []Country {
	var list []Country
	for line := range strings.Lines(data) {
		code, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		list = append(list, Country{code, name})
	}
	return list
}

func namesByCode(list []Country) map[string]string {
	names := make(map[string]string, len(list))
	for _, c := range list {
		names[c.Code] = c.Name
	}
	return names
}

// otherNames holds names and old codes that people still write, folded.
var otherNames = map[string]string{
	"usa": "US", "unitedstatesofamerica": "US", "america": "US", "uk": "GB", "greatbritain": "GB", "britain": "GB",
	"england": "GB", "scotland": "GB", "wales": "GB", "northernireland": "GB", "holland": "NL", "thenetherlands": "NL",
	"czechrepublic": "CZ", "turkiye": "TR", "ivorycoast": "CI", "swaziland": "SZ", "burma": "MM", "macedonia": "MK",
	"caboverde": "CV", "easttimor": "TL", "vatican": "VA", "holysee": "VA", "korea": "KR", "republicofkorea": "KR",
	"macau": "MO", "russianfederation": "RU", "virginislands": "VI", "virginislandsus": "VI",
	"federatedstatesofmicronesia": "FM", "democraticrepublicofthecongo": "CD", "republicofthecongo": "CG",
}

// ParseCountry reads a country as a form, a file or a person writes it: the
// two-letter code in any case, the English name, or a few other common names.
// It returns the ISO 3166-1 alpha-2 code; the error is an *InputError.
func ParseCountry(text string) (string, error) {
	folded := foldName(text)
	if folded == "" {
		return "", &InputError{"country", "Please choose a country."}
	}
	if code := strings.ToUpper(folded); countryNames[code] != "" {
		return code, nil
	}
	if code := otherNames[folded]; code != "" {
		return code, nil
	}
	for _, c := range countries {
		if foldName(c.Name) == folded {
			return c.Code, nil
		}
	}
	return "", &InputError{"country", "We don’t know that country. Use its two letters or its full name."}
}

// marks maps the marked letters of our names to plain ones, and two short forms
// to the words.
var marks = strings.NewReplacer("å", "a", "Å", "a", "é", "e", "É", "e", "ô", "o", "Ô", "o", "ç", "c", "Ç", "c",
	"ã", "a", "Ã", "a", "í", "i", "Í", "i", "ü", "u", "Ü", "u", "&", "and", "St. ", "Saint ")

// foldName keeps letters and digits only, plain and lower-case; over-long text folds to
// something that matches no name.
func foldName(text string) string {
	if len(text) > 100 {
		return "-"
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'A' && r <= 'Z':
			return r - 'A' + 'a'
		case r > 0x7f && r != '’' && r != '\u00a0':
			return r
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		}
		return -1
	}, marks.Replace(text))
}

// InputError says why a typed country or state was refused.
// Sentence is for the page, beside the field; it never repeats what was typed.
type InputError struct {
	Field    string // "country" or "state"
	Sentence string
}

func (e *InputError) Error() string { return "read " + e.Field + ": not known" }

// withArticle lists the countries whose name takes "the" in a sentence.
const withArticle = " AE BQ BS CC CF CK DO FK FO GB GM GS HM IM IO KM KY MH MP MV NL PH PN SB SC TC TF UM US VG VI "

// countryPhrase is the name inside a sentence: "the United States".
func countryPhrase(code string) string {
	if strings.Contains(withArticle, " "+code+" ") {
		return "the " + countryNames[code]
	}
	return countryNames[code]
}
