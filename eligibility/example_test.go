package eligibility_test

import (
	"fmt"

	"evenhand/eligibility"
)

func ExampleRegion_Decide() {
	region := eligibility.Region{Ship: []string{"US"}, AlaskaHawaii: true, Friend: true}
	home := eligibility.Place{Country: "FR"}
	d := region.Decide(home, home, false)
	fmt.Println(d.OK, d.Code)
	fmt.Println(d.Reason)
	fmt.Println(d.WayOut)
	friends := eligibility.Place{Country: "US", State: "OH"}
	fmt.Println(region.Decide(home, friends, true).OK)
	// Output:
	// false ship-region
	// The sponsor sends to addresses in the United States only.
	// A friend there can receive it for you; you only name them if you win.
	// true
}
