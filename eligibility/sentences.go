package eligibility

import "strings"

// Up to this many countries are named in a sentence; longer lists stand in the rules.
const named = 5

// countryWords is a list inside a sentence: "the United States and Canada".
func countryWords(codes []string) string {
	var b strings.Builder
	for i, code := range codes {
		switch {
		case i == 0:
		case i == len(codes)-1:
			b.WriteString(" and ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(countryPhrase(code))
	}
	return b.String()
}

// placeWords names the part that was refused: the state where its country is
// listed, otherwise the country.
func placeWords(p Place) string {
	switch {
	case isIn(military, p.State):
		return "military addresses (APO, FPO, DPO)"
	case p.State != "":
		return placeName(p.State, StateName(p.Country, p.State))
	}
	return countryPhrase(p.Country)
}

// placeName gives a state its article, where its country form has one.
func placeName(code, name string) string {
	switch {
	case code == "DC":
		return "the " + name
	case isIn(territories, code) || isIn(associated, code):
		return countryPhrase(code)
	}
	return name
}

// only reports whether the sentence is about a whole country that is not in
// the list; otherwise it is about a part of one that is.
func (r Region) only(list []string, f Place) bool {
	return len(list) > 0 && !r.listed(list, Place{Country: f.Country})
}

func (r Region) onlyFor(live Place) string {
	f := Fold(live)
	switch {
	case !r.only(r.Live, f) && isIn(military, f.State):
		return "A military address does not count as a place of residence in this giveaway."
	case r.only(r.Live, f) && len(r.Live) <= named:
		return "This giveaway is for people who live in " + countryWords(r.Live) + "."
	}
	return "This giveaway is not open to people who live in " + placeWords(f) + "."
}

func (r Region) liveWayOut(live Place) string {
	if f := Fold(live); !r.only(r.Live, f) && isIn(military, f.State) {
		return "If you have a home state, choose that one."
	}
	return ""
}

func (r Region) sendsOnly(ship Place) string {
	f := Fold(ship)
	if r.only(r.Ship, f) && len(r.Ship) <= named {
		return "The sponsor sends to addresses in " + countryWords(r.Ship) + " only."
	}
	if isIn(military, f.State) {
		return "The sponsor can’t send to " + placeWords(f) + "."
	}
	return "The sponsor can’t send to addresses in " + placeWords(f) + "."
}

func (r Region) friendWayOut(ship Place) string {
	switch part := !r.only(r.Ship, Fold(ship)); {
	case part && r.Friend:
		return "If you or a friend have another address that the sponsor can send to, choose that one."
	case part:
		return "If you have another address that the sponsor can send to, choose that one."
	case !r.Friend:
		return ""
	case len(r.Ship) > named:
		return "A friend in a country that it sends to can receive it for you; you only name them if you win."
	}
	return "A friend there can receive it for you; you only name them if you win."
}

// withoutFriend is for someone abroad whose parcel address is fine: it must be
// a friend's, and the terms must allow that.
func (r Region) withoutFriend(live, ship Place) Decision {
	if !r.Friend {
		return no(CodeAbroadWithoutFriend, "The prize goes only to people who live where the sponsor sends.", "")
	}
	return no(CodeAbroadWithoutFriend,
		"The sponsor can’t send to "+countryPhrase(Fold(live).Country)+", where you live.",
		"If a friend in "+countryPhrase(Fold(ship).Country)+" can receive it for you, tick that box; you only name them if you win.")
}

// field asks for a place's missing or unknown part.
func field(w where, what string) Decision {
	switch w {
	case stateMissing:
		return no(CodeStateNeeded, "Please choose the state you "+what+".", "")
	case noSuchState:
		return no(CodeUnknownState, "Please choose the state you "+what+" from the list.", "")
	}
	return no(CodeUnknownCountry, "Please choose the country you "+what+" from the list.", "")
}
