package main

import (
	"image"
	"image/color"
	"strings"
	"testing"
)

// readQR reads a QR code of version 1 to 6 in byte mode, without using the
// library that made it: ISO/IEC 18004 (from memory), with the numbers of
// codewords of its table 9. It also wants the quiet zone of four modules, and
// black on white. What it makes of a code was compared once with what the
// program jsQR 1.4.0 reads from the same picture.
func readQR(t *testing.T, picture image.Image) string {
	t.Helper()
	dark, n := modules(t, picture)
	format := 0
	for i := range 15 { // beside the top left finder, bit 14 first from the left
		x, y := []int{0, 1, 2, 3, 4, 5, 7, 8, 8, 8, 8, 8, 8, 8, 8}[i], []int{8, 8, 8, 8, 8, 8, 8, 8, 7, 5, 4, 3, 2, 1, 0}[i]
		format = format<<1 | bit(dark(x, y))
	}
	format ^= 0x5412
	if rest := bch(format >> 10); rest != format&0x3ff {
		t.Fatalf("the format's check bits are %x, want %x", format&0x3ff, rest)
	}
	words := codewords(n, format>>10&7, dark)
	blocks := table9[(n-17)/4][map[int]int{1: 0, 0: 1, 3: 2, 2: 3}[format>>13]]
	if blocks == nil {
		t.Fatalf("a code of %d modules is not known here", n)
	}
	return byteMode(t, deinterleave(words, blocks))
}

// table9: for each version, the data codewords of each block at the levels L,
// M, Q, H.
var table9 = map[int][4][]int{
	1: {{19}, {16}, {13}, {9}},
	2: {{34}, {28}, {22}, {16}},
	3: {{55}, {44}, {17, 17}, {13, 13}},
	4: {{80}, {32, 32}, {24, 24}, {9, 9, 9, 9}},
	5: {{108}, {43, 43}, {15, 15, 16, 16}, {11, 11, 12, 12}},
	6: {{68, 68}, {27, 27, 27, 27}, {19, 19, 19, 19}, {15, 15, 15, 15}},
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// bch is the remainder of the format's five bits (generator 10100110111).
func bch(five int) int {
	r := five << 10
	for i := 14; i >= 10; i-- {
		if r>>i&1 == 1 {
			r ^= 0x537 << (i - 10)
		}
	}
	return r
}

// modules finds the code in a picture: its side in modules, and which are dark.
func modules(t *testing.T, p image.Image) (dark func(x, y int) bool, n int) {
	t.Helper()
	black := func(x, y int) bool { return color.GrayModel.Convert(p.At(x, y)).(color.Gray).Y < 128 }
	side, from := p.Bounds().Dx(), 0
	for from < side && !black(from, from) {
		from++
	}
	to := from
	for to < side && black(to, from) {
		to++
	}
	module := (to - from) / 7 // the finder's upper edge
	if p.Bounds().Dy() != side || module == 0 || from != 4*module {
		t.Fatalf("a picture of %d by %d, the code begins at %d with modules of %d: want a square and a quiet zone of four", side, p.Bounds().Dy(), from, module)
	}
	n = side/module - 8
	return func(x, y int) bool { return black(from+x*module+module/2, from+y*module+module/2) }, n
}

// codewords reads the data area in its zigzag, the mask taken off.
func codewords(n, mask int, dark func(x, y int) bool) []byte {
	var bits []int
	for right, up := n-1, true; right > 0; right, up = right-2, !up {
		if right == 6 {
			right = 5
		}
		for k := range n {
			y := k
			if up {
				y = n - 1 - k
			}
			for _, x := range []int{right, right - 1} {
				if !function(n, x, y) {
					bits = append(bits, bit(dark(x, y) != masked(mask, y, x)))
				}
			}
		}
	}
	words := make([]byte, len(bits)/8)
	for i := range words {
		for _, b := range bits[8*i : 8*i+8] {
			words[i] = words[i]<<1 | byte(b)
		}
	}
	return words
}

// function reports whether a module belongs to a pattern and not to the data.
func function(n, x, y int) bool {
	finder := x <= 8 && y <= 8 || x >= n-8 && y <= 8 || x <= 8 && y >= n-8
	align := n > 21 && x >= n-9 && x <= n-5 && y >= n-9 && y <= n-5
	return finder || align || x == 6 || y == 6
}

func masked(mask, i, j int) bool {
	return []bool{(i+j)%2 == 0, i%2 == 0, j%3 == 0, (i+j)%3 == 0, (i/2+j/3)%2 == 0,
		i*j%2+i*j%3 == 0, (i*j%2+i*j%3)%2 == 0, ((i+j)%2+i*j%3)%2 == 0}[mask]
}

// deinterleave puts the data codewords back into their blocks' order.
func deinterleave(words []byte, blocks []int) []byte {
	parts := make([][]byte, len(blocks))
	for i := 0; i < blocks[len(blocks)-1]; i++ {
		for b, size := range blocks {
			if i < size {
				parts[b], words = append(parts[b], words[0]), words[1:]
			}
		}
	}
	var all []byte
	for _, p := range parts {
		all = append(all, p...)
	}
	return all
}

// byteMode reads one segment in byte mode.
func byteMode(t *testing.T, data []byte) string {
	t.Helper()
	if data[0]>>4 != 4 {
		t.Fatalf("the mode is %d, want 4 (bytes)", data[0]>>4)
	}
	length := int(data[0]&15)<<4 | int(data[1]>>4)
	var b strings.Builder
	for i := range length {
		b.WriteByte(data[1+i]<<4 | data[2+i]>>4)
	}
	return b.String()
}

// The worked example of the standard for the check bits that readQR relies on.
func TestReadQR(t *testing.T) {
	if got := bch(0b00101); got != 0b0011011100 { // ISO/IEC 18004, annex C, the worked example: 00101 gives 0011011100
		t.Errorf("the format's check bits: %010b", got)
	}
}
