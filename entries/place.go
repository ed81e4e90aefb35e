package entries

import (
	"errors"
	"strings"

	"evenhand/eligibility"
	"evenhand/sizing"
)

// readPlaces reads where the entrant lives and where the parcel goes, and asks
// the terms about both. The parcel goes home unless the form says otherwise.
func (d *decision) readPlaces() {
	region := d.terms.Region
	live, ok := d.readPlace("live", d.form.Live, "state", d.form.State)
	if !ok {
		return
	}
	d.Entry.Live, d.Entry.Friend = live, ticked(d.form.Friend)
	shipOK := d.readShip(live)
	liveOK := d.judge(placeField("state", region.DecideLive(live)), region.DecideLive(live))
	if !shipOK {
		return
	}
	ship := d.Entry.Ship
	// Where the parcel goes home, one message about the missing state is enough.
	if !liveOK && ship == live {
		return
	}
	if !d.judge(placeField("ship_state", region.DecideShip(ship)), region.DecideShip(ship)) || !liveOK {
		return
	}
	d.judge("friend", region.Decide(live, ship, d.Entry.Friend))
}

// readShip fills in Entry.Ship. It reports whether it could be read.
func (d *decision) readShip(live eligibility.Place) bool {
	country, state := d.form.Ship, d.form.ShipState
	if strings.TrimSpace(country) == "" {
		home, ok := d.friendCountry(live)
		if !ok {
			return false
		}
		country = home
	}
	ship, ok := d.readPlace("ship", country, "ship_state", state)
	if ok && ship.State == "" && ship.Country == live.Country {
		ship.State = live.State
	}
	d.Entry.Ship = ship
	return ok
}

// friendCountry is where the parcel goes if the form names no country: home,
// or, for somebody abroad with a friend, the one country that the parcel can go
// to. If there are several, the form has to say.
func (d *decision) friendCountry(live eligibility.Place) (string, bool) {
	ships := d.terms.Region.Ship
	if !d.Entry.Friend || len(ships) == 0 || d.terms.Region.DecideShip(live).Code != eligibility.CodeShipRegion {
		return live.Country, true
	}
	if len(ships) > 1 {
		d.problem("ship", "Please choose the country where your friend can receive it.")
		return "", false
	}
	return ships[0], true
}

// readPlace reads a country and a state, and puts a problem beside the field
// that can't be read.
func (d *decision) readPlace(field, country, stateField, state string) (eligibility.Place, bool) {
	code, err := eligibility.ParseCountry(country)
	if err != nil {
		d.problem(field, inputSentence(err))
		return eligibility.Place{}, false
	}
	stateCode, err := eligibility.ParseState(code, state)
	if err != nil {
		d.problem(stateField, inputSentence(err))
		return eligibility.Place{}, false
	}
	return eligibility.Place{Country: code, State: stateCode}, true
}

// placeField names the field that a decision asks for: the state's, or the
// country's beside it.
func placeField(stateField string, a eligibility.Decision) string {
	if a.Code != eligibility.CodeUnknownCountry {
		return stateField
	}
	if stateField == "state" {
		return "live"
	}
	return "ship"
}

// inputSentence returns the words for people that an error of the rooms below
// bears.
func inputSentence(err error) string {
	var place *eligibility.InputError
	var size *sizing.InputError
	switch {
	case errors.As(err, &place):
		return place.Sentence
	case errors.As(err, &size):
		return size.Sentence
	}
	return "Please check this."
}
