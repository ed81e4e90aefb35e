package eligibility

import (
	"slices"
	"strconv"
	"strings"
)

// Region says where an entrant may live and where the prize can go. It is part
// of a giveaway's terms. Countries are ISO 3166-1 alpha-2 codes; an empty list
// is anywhere. States stand as "US-NY", "CA-QC"; "US-AE" is military post.
//
// The four switches say what "US" means in both lists, because people mean
// different things by it. All off, it is the 48 states and DC. A territory or
// freely associated state that stands in a list itself ("PR") is in whatever
// its switch says.
type Region struct {
	Live    []string `json:"live,omitempty"`
	NotLive []string `json:"not_live,omitempty"`
	Ship    []string `json:"ship,omitempty"`
	NotShip []string `json:"not_ship,omitempty"`

	AlaskaHawaii     bool `json:"alaska_hawaii,omitempty"`
	Territories      bool `json:"territories,omitempty"`       // AS GU MP PR VI
	Military         bool `json:"military,omitempty"`          // APO, FPO, DPO: AA AE AP
	FreelyAssociated bool `json:"freely_associated,omitempty"` // FM MH PW

	// Friend: who lives in a country that the parcel can't go to may name a
	// friend where it can. Without it they can't win, whatever address they have.
	Friend bool `json:"friend,omitempty"`
}

// A CodeError is a code in a list of a [Region] that is not known or stands
// there twice.
type CodeError struct {
	List     string // the list's JSON name
	Item     int    // from 0
	Code     string
	Repeated bool
}

func (e *CodeError) Error() string {
	at := "region: " + e.List + ": item " + itoa(e.Item+1)
	if e.Repeated {
		return at + " is repeated"
	}
	return at + " is not a known code"
}

// Validate returns nil or the first unknown or repeated code, a [*CodeError].
func (r Region) Validate() error {
	for _, l := range []struct {
		name  string
		codes []string
		known func(string) bool
	}{
		{"live", r.Live, knownCountry}, {"ship", r.Ship, knownCountry},
		{"not_live", r.NotLive, knownState}, {"not_ship", r.NotShip, knownState},
	} {
		for i, code := range l.codes {
			if !l.known(code) {
				return &CodeError{l.name, i, code, false}
			}
			if slices.Contains(l.codes[:i], code) {
				return &CodeError{l.name, i, code, true}
			}
		}
	}
	return nil
}

func knownCountry(code string) bool { return countryNames[code] != "" }

func knownState(code string) bool {
	country, state, _ := strings.Cut(code, "-")
	return StateName(country, state) != ""
}

// Decide says whether someone who lives in live can enter, with the parcel
// going to ship. friend is their word that a friend receives it there. Both
// places are taken as chosen and folded here, so Puerto Rico as a country and
// as a US state get the same answer.
func (r Region) Decide(live, ship Place, friend bool) Decision {
	if d := r.DecideLive(live); !d.OK {
		return d
	}
	if d := r.DecideShip(ship); !d.OK {
		return d
	}
	if r.abroad(live) && !(r.Friend && friend) {
		return r.withoutFriend(live, ship)
	}
	return yes()
}

// DecideLive decides on the place of residence alone.
func (r Region) DecideLive(live Place) Decision {
	switch where := r.zone(r.Live, r.NotLive, live); where {
	case inside:
		return yes()
	case outside:
		return no(CodeLiveRegion, r.onlyFor(live), r.liveWayOut(live))
	default:
		return field(where, "live in")
	}
}

// DecideShip decides on the parcel's place alone.
func (r Region) DecideShip(ship Place) Decision {
	switch where := r.zone(r.Ship, r.NotShip, ship); where {
	case inside:
		return yes()
	case outside:
		return no(CodeShipRegion, r.sendsOnly(ship), r.friendWayOut(ship))
	default:
		return field(where, "want the parcel sent to")
	}
}

// where is the result of looking a place up in a list.
type where int

const (
	inside where = iota
	outside
	stateMissing
	noSuchCountry
	noSuchState
)

// zone looks a place up in a list of countries with states taken out.
func (r Region) zone(list, except []string, p Place) where {
	if !knownCountry(p.Country) {
		return noSuchCountry
	}
	if p.State != "" && stateLists[p.Country] != nil && StateName(p.Country, p.State) == "" {
		return noSuchState
	}
	f := Fold(p)
	switch {
	case len(list) > 0 && !r.listed(list, f):
		return outside
	case f.State == "" && r.needsState(list, except, f.Country):
		return stateMissing
	case slices.Contains(except, exceptCode(f)):
		return outside
	}
	return inside
}

// exceptCode is how a folded place stands in NotLive and NotShip.
func exceptCode(f Place) string {
	if isIn(associated, f.Country) {
		return "US-" + f.Country
	}
	return f.Country + "-" + f.State
}

// listed looks a folded place up in a non-empty list. A US place without state
// counts as listed where any US place is: the state decides later.
func (r Region) listed(list []string, f Place) bool {
	us := slices.Contains(list, "US")
	switch {
	case isIn(associated, f.Country):
		return us && r.FreelyAssociated || slices.Contains(list, f.Country)
	case f.Country != "US":
		return slices.Contains(list, f.Country)
	case f.State == "":
		return us || slices.ContainsFunc(list, func(c string) bool { return isIn(territories, c) })
	case isIn(territories, f.State):
		return us && r.Territories || slices.Contains(list, f.State)
	case isIn(farStates, f.State):
		return us && r.AlaskaHawaii
	case isIn(military, f.State):
		return us && r.Military
	}
	return us
}

// needsState reports whether the country alone leaves the answer open.
func (r Region) needsState(list, except []string, country string) bool {
	if stateLists[country] == nil {
		return false
	}
	if slices.ContainsFunc(except, func(code string) bool { return strings.HasPrefix(code, country+"-") }) {
		return len(list) == 0 || r.listed(list, Place{Country: country})
	}
	whole := r.AlaskaHawaii && r.Territories && r.Military && slices.Contains(list, "US")
	return country == "US" && len(list) > 0 && r.listed(list, Place{Country: country}) && !whole
}

// StateNeeded reports whether r needs the state of someone who chose country,
// for living or for the parcel.
func StateNeeded(r Region, country string) bool {
	return r.LiveStateNeeded(country) || r.ShipStateNeeded(country)
}

// LiveStateNeeded reports whether the state of residence decides.
func (r Region) LiveStateNeeded(country string) bool {
	return r.needsState(r.Live, r.NotLive, country)
}

// ShipStateNeeded reports whether the state that the parcel goes to decides.
func (r Region) ShipStateNeeded(country string) bool {
	return r.needsState(r.Ship, r.NotShip, country)
}

// abroad reports whether somebody lives in a country that the parcel can't go
// to at all. Within such a country nobody asks whose address it is.
func (r Region) abroad(live Place) bool {
	return len(r.Ship) > 0 && !r.listed(r.Ship, Place{Country: Fold(live).Country})
}

func itoa(n int) string { return strconv.Itoa(n) }
