package sizing_test

import (
	"fmt"

	"evenhand/sizing"
)

func ExampleRun_Nearest() {
	run := sizing.Run{{System: sizing.Mens, From: 14, To: 24, Step: sizing.HalfSteps, Widths: []string{"D", "2E"}}}
	size, _ := sizing.ParseSize("8 1/2")
	width, _ := sizing.ParseWidth(sizing.Womens, "wide")
	want := sizing.Size{System: sizing.Womens, Size: size, Width: width}
	fmt.Println(want, run.Has(want))
	for _, s := range run.Nearest(want, sizing.Common, 3) {
		fmt.Println(s)
	}
	// Output:
	// women’s 8½ D false
	// men’s 7 2E
	// men’s 7 D
	// men’s 7½ 2E
}
