package draw_test

import (
	"context"
	"fmt"
	"os"
	"strings"

	"evenhand/draw"
)

// A publication is checked from its files alone.
func ExampleCheck() {
	folder := os.DirFS("../testdata/vectors/publications/full")
	report := draw.Check(context.Background(), folder, draw.Options{})
	fmt.Println(report.Draw, "is", report.Verdict)
	fmt.Println("signed by", report.Signer)
	fmt.Println("first of", report.Tickets, "tickets:", report.Places[0].Ticket.Grouped())
	for _, finding := range report.Findings {
		if finding.Level != draw.OK {
			fmt.Println(finding)
		}
	}
	// Output:
	// trail-boots is valid
	// signed by draws.slowmiles.example
	// first of 60 tickets: 7WR4-G0CT-8XCK-65A3
}

// The order of the draw: the lowest scores come first. A score is the SHA-256
// of the seed and the ticket, which any SHA-256 page shows, too.
func ExampleOrder() {
	commitment := strings.Repeat("0", 64)
	roll := "0N45DY1ZQHK7FDPY " + commitment + "\n" +
		"7WR4G0CT8XCK65A3 " + commitment + "\n" +
		"F11DJ5H81G7GY9GW " + commitment + "\n"
	// The seed of the sample draw trail-boots.
	seed, err := draw.ParseDigest("4c4424b8f3d966d78f61a43ac3828c79472992ec7ab506deff810489b5c2ac63")
	if err != nil {
		fmt.Println(err)
		return
	}
	list, places, err := draw.Order(seed, strings.NewReader(roll), 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(list.Count, "tickets")
	for _, p := range places {
		fmt.Println(p.N, p.Ticket.Grouped(), p.Score)
	}
	// Output:
	// 3 tickets
	// 1 7WR4-G0CT-8XCK-65A3 066a99072581bb24c0e3432872f6a48d2a2a38cc2217bff2ff3927c5b03433ad
	// 2 F11D-J5H8-1G7G-Y9GW 10a32817384e743e984d552491f351a46b35f33e23189b83070c0d1a51ebbc05
}
