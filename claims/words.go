package claims

import "strings"

// The post's short forms. Source: USPS Publication 28, Appendices C1 and C2,
// as testdata/facts/postal.json has them; the tests compare.
const (
	suffixData = `ALLEY ALY|ANNEX ANX|AVENUE AVE|BEACH BCH|BEND BND|BLUFF BLF|BOULEVARD BLVD|BRANCH BR|BRIDGE BRG|
BROOK BRK|BYPASS BYP|CANYON CYN|CAUSEWAY CSWY|CENTER CTR|CIRCLE CIR|COMMON CMN|CORNER COR|COURT CT|
COVE CV|CREEK CRK|CRESCENT CRES|CROSSING XING|DRIVE DR|ESTATE EST|ESTATES ESTS|EXPRESSWAY EXPY|
EXTENSION EXT|FREEWAY FWY|GARDEN GDN|GARDENS GDNS|GATEWAY GTWY|GLEN GLN|GREEN GRN|GROVE GRV|
HARBOR HBR|HEIGHTS HTS|HIGHWAY HWY|HILL HL|HILLS HLS|HOLLOW HOLW|ISLAND IS|JUNCTION JCT|KNOLL KNL|
LAKE LK|LANDING LNDG|LANE LN|LOOP LOOP|MANOR MNR|MEADOW MDW|MEADOWS MDWS|MOUNT MT|MOUNTAIN MTN|
ORCHARD ORCH|PARK PARK|PARKWAY PKWY|PASS PASS|PATH PATH|PIKE PIKE|PINES PNES|PLACE PL|PLAZA PLZ|
POINT PT|PRAIRIE PR|RANCH RNCH|RIDGE RDG|RIVER RIV|ROAD RD|ROUTE RTE|ROW ROW|RUN RUN|SHORE SHR|
SPRING SPG|SPRINGS SPGS|SQUARE SQ|STATION STA|STREET ST|SUMMIT SMT|TERRACE TER|TRACE TRCE|TRAIL TRL|
TURNPIKE TPKE|VALLEY VLY|VIEW VW|VILLAGE VLG|VISTA VIS|WALK WALK|WAY WAY|WELLS WLS`
	directionalData = `NORTH N|EAST E|SOUTH S|WEST W|NORTHEAST NE|SOUTHEAST SE|NORTHWEST NW|SOUTHWEST SW`
	numberedData    = `APARTMENT APT|BUILDING BLDG|DEPARTMENT DEPT|FLOOR FL|HANGAR HNGR|KEY KEY|LOT LOT|PIER PIER|ROOM RM|
SLIP SLIP|SPACE SPC|STOP STOP|SUITE STE|TRAILER TRLR|UNIT UNIT`
	aloneData = `BASEMENT BSMT|FRONT FRNT|LOBBY LBBY|LOWER LOWR|OFFICE OFC|PENTHOUSE PH|REAR REAR|SIDE SIDE|UPPER UPPR`
)

var (
	suffixes     = pairs(suffixData)      // STREET → ST
	directionals = pairs(directionalData) // NORTH → N
	shortSuffix  = values(suffixes)
	unitWords    = units()
)

// A unit is a word for a part of a building, whole or short.
type unit struct {
	abbr     string
	numbered bool // a number follows
	alone    bool // it may stand without one
	asks     bool // without a number something is missing, for the word is hardly ever a street's
}

func units() map[string]unit {
	all := map[string]unit{}
	for data, numbered := range map[string]bool{numberedData: true, aloneData: false} {
		for word, abbr := range pairs(data) {
			// PIER, KEY, LOT, SLIP, SPACE and STOP also end the names of streets.
			asks := numbered && !strings.Contains(" PIER KEY LOT SLIP SPACE STOP ", " "+word+" ")
			all[word] = unit{abbr, numbered, !numbered, asks}
			all[abbr] = all[word]
		}
	}
	return all
}

func pairs(data string) map[string]string {
	all := map[string]string{}
	for item := range strings.SplitSeq(data, "|") {
		word, short, _ := strings.Cut(strings.TrimSpace(item), " ")
		all[word] = short
	}
	return all
}

func values(m map[string]string) map[string]bool {
	all := map[string]bool{}
	for _, v := range m {
		all[v] = true
	}
	return all
}
