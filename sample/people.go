package sample

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"strings"

	"evenhand/entries"
)

// A person is invented, with the form that they send.
type person struct {
	form   entries.Form
	leaves bool // withdraws later
}

var firstNames = strings.Fields(`Ada Amina Anders Beatriz Bram Carmen Chidi Clara Dalia Dev Edda Elias Emeka
	Farah Fern Gita Greta Hana Hugo Ines Ivo Jonas Juniper Kai Keiko Lena Luca Maren Mateo Mira Nadia Nils
	Odile Omar Paloma Priya Quentin Rosa Rune Saskia Soren Tamsin Tove Uma Viktor Wanda Yara Zeno`)

var lastNames = strings.Fields(`Abara Alder Birch Brook Calder Castell Dale Dunmore Eastwick Ferrow Gannet Garrow
	Heath Holloway Iversen Juno Kestrel Langley Larch Marsh Merrow Norden Oakes Ostrander Pell Quill Rowan
	Sandoval Sedge Tarn Thorne Underhill Vale Wetherby Yarrow Zell`)

var domains = []string{"example.com", "example.org", "example.net", "mail.example", "post.example"}

var states = strings.Fields("NY NY CA CA CA WA OR CO CO UT ME VT NH PA NC TN GA FL TX TX AZ MN WI MI OH IL MO MT ID AK HI")

// Numbers and widths with rough weights, by repetition: the middle sizes are
// the common ones. They only make the sample look plausible; no source.
var (
	mens        = strings.Fields("7 7.5 8 8 8.5 8.5 9 9 9 9.5 9.5 9.5 10 10 10 10 10.5 10.5 10.5 11 11 11 11.5 11.5 12 12 12.5 13 14")
	womens      = strings.Fields("5 5.5 6 6 6.5 6.5 7 7 7 7.5 7.5 7.5 8 8 8 8.5 8.5 9 9 9.5 10 11")
	mensWidth   = strings.Fields("D D D D D 2E")
	womensWidth = strings.Fields("B B B B D")
)

// crowd invents n people and, among them, what goes wrong: about one in ten
// enters again with the address written differently, one in twelve may not
// enter, one in forty withdraws. The same draw id gives the same crowd;
// tickets, salts and links are not made here, and are random.
func crowd(id string, n int) []person {
	seed := fnv.New64a()
	seed.Write([]byte(id))
	r := rand.New(rand.NewPCG(seed.Sum64(), 1))
	var crowd []person
	for i := range n {
		p := someone(r, i)
		switch {
		case i%12 == 5:
			refused(r, &p.form)
		case i%40 == 17:
			p.leaves = true
		}
		crowd = append(crowd, p)
		if i%10 == 3 && !p.leaves {
			crowd = append(crowd, person{form: again(r, p.form)})
		}
	}
	return crowd
}

func pick(r *rand.Rand, of []string) string { return of[r.IntN(len(of))] }

func someone(r *rand.Rand, i int) person {
	first, last := pick(r, firstNames), pick(r, lastNames)
	f := entries.Form{
		Email:  strings.ToLower(fmt.Sprintf("%s.%s%d@%s", first, last, i+1, pick(r, domains))),
		System: "mens", Size: pick(r, mens), Width: pick(r, mensWidth),
		Live: "US", State: pick(r, states), Ship: "US",
		Age: "18-or-over", Rules: "yes",
	}
	f.ShipState = f.State
	if r.IntN(2) == 0 {
		f.System, f.Size, f.Width = "womens", pick(r, womens), pick(r, womensWidth)
	}
	if r.IntN(9) == 0 { // abroad, with a friend who can take the parcel
		f.Live, f.State, f.ShipState, f.Friend = pick(r, []string{"CA", "GB", "DE"}), "", pick(r, states), "yes"
	}
	if r.IntN(3) == 0 {
		f.Name = first
	}
	if r.IntN(2) == 0 {
		f.Step = "yes"
	}
	f.SizeSeen = f.SizeTyped()
	return person{form: f}
}

// refused makes a form one that the terms refuse.
func refused(r *rand.Rand, f *entries.Form) {
	switch r.IntN(3) {
	case 0:
		f.Live, f.State, f.Friend = "FR", "", "" // not a country of the terms
	case 1:
		f.Live, f.State, f.Friend = "GB", "", "" // abroad, without a friend
	default:
		f.Age = "under-18"
	}
}

// again is the same person's second try, with the address written differently.
func again(r *rand.Rand, f entries.Form) entries.Form {
	local, domain, _ := strings.Cut(f.Email, "@")
	switch r.IntN(3) {
	case 0:
		f.Email = strings.ToUpper(local) + "@" + domain
	case 1:
		f.Email = local + "@" + strings.ToUpper(domain[:1]) + domain[1:]
	default:
		f.Email = " " + local + "@" + domain + " "
	}
	return f
}
