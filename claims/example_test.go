package claims_test

import (
	"fmt"
	"strings"

	"evenhand/claims"
	"evenhand/giveaway"
)

// What people type and what goes on the label; a doubt is a question.
func ExampleCheckAddress() {
	typed := claims.Address{
		Lines: []string{"12 north elm street", "apartment 4b"},
		City:  "Anchorage", State: "AZ", Postal: "99501", Country: "US",
	}
	tidy, problems := claims.CheckAddress(typed, giveaway.Terms{})
	fmt.Println(strings.Join(tidy.Lines, "\n"))
	fmt.Println(len(problems), "problems")
	fmt.Println(tidy.Questions[0].Text)
	// Output:
	// 12 N ELM ST
	// APT 4B
	// ANCHORAGE AZ  99501
	// 0 problems
	// ZIP 99501 is in Alaska; you wrote AZ. Which is right?
}
