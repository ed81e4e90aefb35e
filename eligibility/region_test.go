package eligibility

import (
	"encoding/json"
	"strings"
	"testing"
)

// Terms of the kinds that hosts use. us is the narrowest reading of "US only";
// wide switches everything on.
var (
	us     = Region{Live: []string{"US"}, Ship: []string{"US"}}
	wide   = Region{Live: []string{"US"}, Ship: []string{"US"}, AlaskaHawaii: true, Territories: true, Military: true, FreelyAssociated: true}
	world  = Region{Ship: []string{"US"}, Friend: true}
	world2 = Region{Ship: []string{"US"}}
	na     = Region{Live: []string{"US", "CA"}, NotLive: []string{"US-NY", "US-FL", "CA-QC"}, Ship: []string{"US", "CA"}, NotShip: []string{"CA-NU"}, AlaskaHawaii: true, Territories: true, Military: true}
	island = Region{Live: []string{"PR"}, Ship: []string{"PR", "FM"}}
)

func with(r Region, edit func(*Region)) Region {
	edit(&r)
	return r
}

// at reads "US-OH", "US", "CA-QC", "FR".
func at(text string) Place {
	country, state, _ := strings.Cut(text, "-")
	return Place{country, state}
}

// The switches follow testdata/facts/postal.md, section 7; what each rule means
// follows from Region's own definition.
func TestDecide(t *testing.T) {
	for _, c := range []struct {
		name       string
		region     Region
		live, ship string
		friend     bool
		code       string
	}{
		{"a state", us, "US-OH", "US-OH", false, ""},
		{"the district", us, "US-DC", "US-DC", false, ""},
		{"another country", us, "FR", "FR", false, CodeLiveRegion},
		{"another country, parcel to a state", us, "FR", "US-OH", true, CodeLiveRegion},
		{"a state, parcel abroad", us, "US-OH", "FR", false, CodeShipRegion},
		{"state not asked", us, "US", "US", false, CodeStateNeeded},
		{"state of the parcel not asked", us, "US-OH", "US", false, CodeStateNeeded},
		{"unknown country", us, "XX", "US-OH", false, CodeUnknownCountry},
		{"no country", us, "", "US-OH", false, CodeUnknownCountry},
		{"unknown parcel country", us, "US-OH", "UK", false, CodeUnknownCountry},
		{"lower case is not a code", us, "us-OH", "US-OH", false, CodeUnknownCountry},
		{"unknown state", us, "US-ZZ", "US-OH", false, CodeUnknownState},
		{"a Canadian state in the US", us, "US-ON", "US-OH", false, CodeUnknownState},

		{"Alaska off", us, "US-AK", "US-AK", false, CodeLiveRegion},
		{"Alaska off, anybody may live anywhere", world, "US-AK", "US-AK", false, CodeShipRegion},
		{"Alaska off, another address", world, "US-AK", "US-OH", false, ""},
		{"Alaska on", wide, "US-AK", "US-AK", false, ""},
		{"Hawaii off", us, "US-OH", "US-HI", false, CodeShipRegion},
		{"Hawaii on", wide, "US-OH", "US-HI", false, ""},
		{"military off", us, "US-OH", "US-AE", false, CodeShipRegion},
		{"military on", wide, "US-OH", "US-AP", false, ""},
		{"living at a military address, off", us, "US-AA", "US-OH", false, CodeLiveRegion},
		{"everything on needs no state", wide, "US", "US", false, ""},

		{"Puerto Rico, country, off", us, "PR", "PR", false, CodeLiveRegion},
		{"Puerto Rico, state, off", us, "US-PR", "US-PR", false, CodeLiveRegion},
		{"Puerto Rico listed itself", island, "US-PR", "PR", false, ""},
		{"a state, only Puerto Rico listed", island, "US-OH", "US-PR", false, CodeLiveRegion},
		{"the US without state, only Puerto Rico listed", island, "US", "PR", false, CodeStateNeeded},
		{"Palau, country, on", wide, "PW", "PW", false, ""},
		{"Palau, state, on", wide, "US-PW", "US-PW", false, ""},
		{"Palau, off", us, "US-OH", "PW", false, CodeShipRegion},
		{"Palau as a state, off", us, "US-OH", "US-PW", false, CodeShipRegion},
		{"Micronesia listed itself", island, "PR", "US-FM", false, ""},

		{"excluded state", na, "US-NY", "US-OH", false, CodeLiveRegion},
		{"excluded state, not asked", na, "US", "US-OH", false, CodeStateNeeded},
		{"excluded province", na, "CA-QC", "CA-ON", false, CodeLiveRegion},
		{"excluded province, not asked", na, "CA", "CA-ON", false, CodeStateNeeded},
		{"parcel to a state where one may not live", na, "US-OH", "US-NY", false, ""},
		{"parcel needs no US state here", na, "US-OH", "US", false, ""},
		{"parcel needs the province", na, "US-OH", "CA", false, CodeStateNeeded},
		{"parcel to an excluded province", na, "US-OH", "CA-NU", false, CodeShipRegion},
		{"California is not Canada", with(wide, func(r *Region) { r.Live, r.NotLive = []string{"US", "CA"}, []string{"US-CA"} }), "CA", "US-OH", true, CodeAbroadWithoutFriend},
		{"excluded territory, as a country", with(wide, func(r *Region) { r.NotShip = []string{"US-PR"} }), "US-OH", "PR", false, CodeShipRegion},
		{"excluded territory, as a state", with(wide, func(r *Region) { r.NotShip = []string{"US-PR"} }), "US-OH", "US-PR", false, CodeShipRegion},
		{"excluded Palau, as a country", with(wide, func(r *Region) { r.NotLive = []string{"US-PW"} }), "PW", "US-OH", false, CodeLiveRegion},
		{"excluded state where anybody may live", with(world, func(r *Region) { r.NotLive = []string{"US-NY"} }), "US-NY", "US-OH", false, CodeLiveRegion},
		{"the same, not asked", with(world, func(r *Region) { r.NotLive = []string{"US-NY"} }), "US", "US-OH", false, CodeStateNeeded},
		{"the same, elsewhere", with(world, func(r *Region) { r.NotLive = []string{"US-NY"} }), "CA", "US-OH", true, ""},

		{"abroad, own address", world, "FR", "FR", false, CodeShipRegion},
		{"abroad, own address, friend ticked", world, "FR", "FR", true, CodeShipRegion},
		{"abroad, friend", world, "FR", "US-OH", true, ""},
		{"abroad, no friend", world, "FR", "US-OH", false, CodeAbroadWithoutFriend},
		{"abroad, friends not allowed", world2, "FR", "US-OH", true, CodeAbroadWithoutFriend},
		{"friend in Alaska, off", world, "FR", "US-AK", true, CodeShipRegion},
		{"Palau is abroad, off", world, "PW", "US-OH", false, CodeAbroadWithoutFriend},
		{"Puerto Rico is not abroad", world, "PR", "US-OH", false, ""},
		{"anything anywhere", Region{}, "FR", "JP", false, ""},
		{"anything anywhere, no states", Region{}, "US", "CA", false, ""},
		{"a country without states ignores one", Region{Live: []string{"FR"}}, "FR-75", "US", false, ""},
	} {
		if err := c.region.Validate(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		got := c.region.Decide(at(c.live), at(c.ship), c.friend)
		if got.Code != c.code || got.OK != (c.code == "") {
			t.Errorf("%s: got %+v, want %q", c.name, got, c.code)
		}
		if (got.Reason == "") != got.OK || got.OK && got.WayOut != "" {
			t.Errorf("%s: reason %q, way out %q for OK %v", c.name, got.Reason, got.WayOut, got.OK)
		}
	}
}

// Country US with state PR and country PR must decide the same, whatever the
// terms and the switches. Source: testdata/facts/postal.md, section 7.
func TestTwoWaysToWriteAPlace(t *testing.T) {
	regions := []Region{us, wide, world, world2, na, island, {}, {Ship: []string{"PR", "PW"}, Friend: true}, {Live: []string{"GU", "MH"}, NotShip: []string{"US-VI", "US-FM"}}}
	for bits := range 16 {
		regions = append(regions, Region{Live: []string{"US", "CA"}, Ship: []string{"US"}, NotLive: []string{"US-AS"}, Friend: bits%2 == 0,
			AlaskaHawaii: bits&1 != 0, Territories: bits&2 != 0, Military: bits&4 != 0, FreelyAssociated: bits&8 != 0})
	}
	for _, r := range regions {
		for _, code := range []string{"PR", "GU", "VI", "AS", "MP", "FM", "MH", "PW"} {
			country, state := Place{Country: code}, Place{"US", code}
			for _, other := range []Place{at("US-OH"), at("FR"), country} {
				for _, friend := range []bool{true, false} {
					if a, b := r.Decide(country, other, friend), r.Decide(state, other, friend); a != b {
						t.Errorf("%+v: living in %s: %+v as a country, %+v as a state", r, code, a, b)
					}
					if a, b := r.Decide(other, country, friend), r.Decide(other, state, friend); a != b {
						t.Errorf("%+v: parcel to %s: %+v as a country, %+v as a state", r, code, a, b)
					}
				}
			}
			if Fold(country) != Fold(state) || Fold(Fold(state)) != Fold(state) {
				t.Errorf("%s folds to %v and %v", code, Fold(country), Fold(state))
			}
		}
	}
}

// Where the terms don't need the state, no state may change the answer; where
// they do, leaving it out asks for it.
func TestStateNeeded(t *testing.T) {
	for _, c := range []struct {
		region  Region
		country string
		want    bool
	}{
		{us, "US", true}, {us, "CA", false}, {us, "PR", false}, {us, "FR", false}, {wide, "US", false}, {na, "US", true}, {na, "CA", true},
		{world, "US", true}, {world, "CA", false}, {Region{}, "US", false}, {Region{Live: []string{"CA"}}, "CA", false}, {Region{Live: []string{"CA"}}, "US", false},
		{with(wide, func(r *Region) { r.Military = false }), "US", true}, {with(wide, func(r *Region) { r.Territories = false }), "US", true},
		{with(wide, func(r *Region) { r.AlaskaHawaii = false }), "US", true}, {with(wide, func(r *Region) { r.FreelyAssociated = false }), "US", false},
		{with(us, func(r *Region) { r.NotLive = []string{"CA-QC"} }), "CA", false}, // Canada is out anyway
		{island, "US", true}, {Region{NotLive: []string{"US-NY"}}, "US", true}, {Region{NotLive: []string{"US-NY"}}, "CA", false},
	} {
		if got := StateNeeded(c.region, c.country); got != c.want {
			t.Errorf("%+v, %s: got %v, want %v", c.region, c.country, got, c.want)
		}
	}
	for _, r := range []Region{us, wide, world, world2, na, island, {}} {
		for _, country := range []string{"US", "CA"} {
			without := r.DecideShip(Place{Country: country})
			if r.ShipStateNeeded(country) != (without.Code == CodeStateNeeded) {
				t.Errorf("%+v, %s: needed %v but %+v", r, country, r.ShipStateNeeded(country), without)
			}
			for _, s := range States(country) {
				got := r.DecideShip(Place{country, s.Code})
				foreign := isIn(associated, s.Code) // a country of its own, offered as one
				if !r.ShipStateNeeded(country) && !foreign && got.Code != without.Code {
					t.Errorf("%+v: %s-%s gives %q, without state %q", r, country, s.Code, got.Code, without.Code)
				}
			}
		}
	}
}

// The sentences that people read, as golden text.
func TestSentences(t *testing.T) {
	many := Region{Ship: []string{"DE", "FR", "IT", "ES", "NL", "BE"}, Friend: true}
	friendless := "The sponsor sends to addresses in the United States only."
	for _, c := range []struct {
		region         Region
		live, ship     string
		reason, wayOut string
	}{
		{world, "FR", "FR", friendless, "A friend there can receive it for you; you only name them if you win."},
		{world2, "FR", "FR", friendless, ""},
		{world, "US-AK", "US-AK", "The sponsor can’t send to addresses in Alaska.", "If you or a friend have another address that the sponsor can send to, choose that one."},
		{world2, "US-OH", "US-VI", "The sponsor can’t send to addresses in the U.S. Virgin Islands.", "If you have another address that the sponsor can send to, choose that one."},
		{world2, "US-OH", "US-AE", "The sponsor can’t send to military addresses (APO, FPO, DPO).", "If you have another address that the sponsor can send to, choose that one."},
		{na, "FR", "FR", "This giveaway is for people who live in the United States and Canada.", ""},
		{na, "US-NY", "US-NY", "This giveaway is not open to people who live in New York.", ""},
		{us, "US-DC", "CA", friendless, ""},
		{us, "US-AE", "US-OH", "A military address does not count as a place of residence in this giveaway.", "If you have a home state, choose that one."},
		{us, "PR", "PR", "This giveaway is not open to people who live in Puerto Rico.", ""},
		{many, "US", "US", "The sponsor can’t send to addresses in the United States.", "A friend in a country that it sends to can receive it for you; you only name them if you win."},
		{many, "US", "NL", "The sponsor can’t send to the United States, where you live.", "If a friend in the Netherlands can receive it for you, tick that box; you only name them if you win."},
		{world2, "GB", "US-OH", "The prize goes only to people who live where the sponsor sends.", ""},
		{us, "US", "US", "Please choose the state you live in.", ""},
		{us, "US-OH", "US", "Please choose the state you want the parcel sent to.", ""},
	} {
		got := c.region.Decide(at(c.live), at(c.ship), false)
		if got.Reason != c.reason || got.WayOut != c.wayOut {
			t.Errorf("%s, %s:\ngot  %s | %s\nwant %s | %s", c.live, c.ship, got.Reason, got.WayOut, c.reason, c.wayOut)
		}
	}
}

func TestRegionValidate(t *testing.T) {
	for _, c := range []struct {
		region Region
		want   string
	}{
		{Region{Live: []string{"US", "UK"}}, "region: live: item 2 is not a known code"},
		{Region{Live: []string{"us"}}, "region: live: item 1"},
		{Region{Ship: []string{""}}, "region: ship: item 1"},
		{Region{Ship: []string{"CA", "CA"}}, "region: ship: item 2 is repeated"},
		{Region{NotLive: []string{"NY"}}, "region: not_live: item 1"},
		{Region{NotLive: []string{"US-QC"}}, "region: not_live: item 1"},
		{Region{NotShip: []string{"US"}}, "region: not_ship: item 1"},
		{Region{NotShip: []string{"FR-75"}}, "region: not_ship: item 1"},
	} {
		if err := c.region.Validate(); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", c.region, err, c.want)
		}
	}
}

func TestRegionJSON(t *testing.T) {
	const text = `{"live":["US"],"not_live":["US-NY"],"ship":["US"],"alaska_hawaii":true,"friend":true}`
	var r Region
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		t.Fatal(err)
	}
	if back, err := json.Marshal(r); err != nil || string(back) != text {
		t.Errorf("got %s, %v, want %s", back, err, text)
	}
}
