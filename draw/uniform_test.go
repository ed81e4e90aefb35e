package draw_test

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"math"
	"slices"
	"strconv"
	"testing"

	"evenhand/draw"
)

// Uniformity: over 10,000 seeds each of 20 tickets should be first, and third,
// about as often. The seeds are fixed, so that the test gives the same answer
// always. Bounds: the upper 0.001 and 0.999 points of chi-square with 19
// degrees of freedom. The first is the handbook table's, see
// testdata/vectors/chi-square.json. The second is computed here, and agrees
// with 5.407 of the same table's lower part, from memory.
const seeds, uniformTickets = 10_000, 20

func TestUniform(t *testing.T) {
	low, high := chiSquareBounds(t)
	first, third := placed(t, func(seed draw.Digest, roll []draw.Ticket) []draw.Place {
		_, places, err := draw.Order(seed, bytes.NewReader(rollText(roll)), 3)
		if err != nil {
			t.Fatal(err)
		}
		return places
	})
	for name, counts := range map[string][]int{"first": first, "third": third} {
		got := chiSquare(counts)
		t.Logf("%s place: chi-square %.3f", name, got)
		if got < low || got > high {
			t.Errorf("%s place: chi-square %.3f, want %.3f to %.3f", name, got, low, high)
		}
	}
}

// Orders that are not fair fail the same test.
func TestUniformFindsSkew(t *testing.T) {
	low, high := chiSquareBounds(t)
	// Only the first hex digit of a score is compared; a tie goes to the lower ticket.
	first, _ := placed(t, func(seed draw.Digest, roll []draw.Ticket) []draw.Place {
		all := slowOrder(seed, roll, len(roll))
		slices.SortStableFunc(all, func(a, b draw.Place) int {
			return cmp.Or(int(a.Score[0]>>4)-int(b.Score[0]>>4), compareTickets(a.Ticket, b.Ticket))
		})
		return all
	})
	if got := chiSquare(first); got <= high {
		t.Errorf("an order by one hex digit passes: chi-square %.3f", got)
	}
	// One ticket gets every fortieth prize of the others.
	favoured, _ := placed(t, func(seed draw.Digest, roll []draw.Ticket) []draw.Place {
		all := slowOrder(seed, roll, len(roll))
		if i := slices.IndexFunc(all, func(p draw.Place) bool { return p.Ticket == roll[0] }); seed[0] < 256/40 {
			all[0], all[i] = all[i], all[0]
		}
		return all
	})
	if got := chiSquare(favoured); got <= high {
		t.Errorf("a ticket that gets a fortieth of the others' prizes passes: chi-square %.3f", got)
	}
	// Everybody in turn is no chance either.
	turn := 0
	even, _ := placed(t, func(_ draw.Digest, roll []draw.Ticket) []draw.Place {
		turn++
		return slices.Repeat([]draw.Place{{Ticket: roll[turn%len(roll)]}}, 3)
	})
	if got := chiSquare(even); got >= low {
		t.Errorf("everybody in turn passes: chi-square %.3f", got)
	}
}

// placed counts which ticket is first, and third, over all seeds.
func placed(t *testing.T, order func(draw.Digest, []draw.Ticket) []draw.Place) (first, third []int) {
	t.Helper()
	roll := newTickets(t, 20, uniformTickets)
	index := map[draw.Ticket]int{}
	for i, x := range roll {
		index[x] = i
	}
	first, third = make([]int, uniformTickets), make([]int, uniformTickets)
	var n [8]byte
	for i := range uint64(seeds) {
		binary.BigEndian.PutUint64(n[:], i)
		places := order(draw.Hash(n[:]), roll)
		first[index[places[0].Ticket]]++
		third[index[places[2].Ticket]]++
	}
	return first, third
}

func chiSquare(counts []int) float64 {
	total := 0
	for _, n := range counts {
		total += n
	}
	share, sum := float64(total)/float64(len(counts)), 0.0
	for _, n := range counts {
		sum += (float64(n) - share) * (float64(n) - share) / share
	}
	return sum
}

func chiSquareBounds(t *testing.T) (low, high float64) {
	t.Helper()
	var v struct {
		Values []struct {
			DF       int    `json:"df"`
			Upper    string `json:"upper_tail"`
			Critical string `json:"critical_table"`
		}
	}
	loadJSON(t, "chi-square.json", &v)
	for _, x := range v.Values {
		table, err := strconv.ParseFloat(x.Critical, 64)
		if err != nil {
			t.Fatal(err)
		}
		upper, err := strconv.ParseFloat(x.Upper, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got := chiSquarePoint(x.DF, 1-upper); math.Abs(got-table) > 0.0006 {
			t.Errorf("df %d, upper tail %s: computed %.4f, table %s", x.DF, x.Upper, got, x.Critical)
		}
		if x.DF == uniformTickets-1 && x.Upper == "0.001" {
			high = table
		}
	}
	if high != 43.820 {
		t.Fatalf("the table's point is %v, want 43.820", high)
	}
	low = chiSquarePoint(uniformTickets-1, 0.001)
	if math.Abs(low-5.407) > 0.0006 {
		t.Fatalf("the lower point is %v, want 5.407", low)
	}
	return low, high
}

// chiSquarePoint is the value below which a share of the distribution lies,
// by bisection.
func chiSquarePoint(df int, share float64) float64 {
	low, high := 0.0, 1000.0
	for range 200 {
		mid := (low + high) / 2
		if lowerGamma(float64(df)/2, mid/2) < share {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// lowerGamma is the regularised lower incomplete gamma function by its series:
// x^a e^-x / Γ(a+1) · Σ x^n / ((a+1)…(a+n)). Source: NIST DLMF, 8.7.1.
func lowerGamma(a, x float64) float64 {
	term, sum := 1.0, 1.0
	for n := 1.0; term > sum*1e-16; n++ {
		term *= x / (a + n)
		sum += term
	}
	logGamma, _ := math.Lgamma(a + 1)
	return sum * math.Exp(a*math.Log(x)-x-logGamma)
}
