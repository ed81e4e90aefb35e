package draw

import (
	"bytes"
	"crypto/sha256"
	"encoding"
	"encoding/hex"
	"hash"

	"evenhand/draw/beacon"
)

// ComputeSeed is the hash of the seed's text: the freeze, every secret in the
// opening's order, and the beacon's randomness. b is nil where the opening
// names no beacon.
func ComputeSeed(freeze Digest, secrets []Secret, b *Beacon) Digest {
	return Hash(SeedText(freeze, secrets, b))
}

// SeedText is the text whose hash is the seed.
func SeedText(freeze Digest, secrets []Secret, b *Beacon) []byte {
	var p printer
	p.line("evenhand/seed/v1")
	p.line("freeze", freeze.String())
	for _, s := range secrets {
		p.secret(s)
	}
	if b != nil {
		r := beacon.Randomness(b.Signature)
		p.line("beacon", itoa(int64(b.Round)), hex.EncodeToString(r[:]))
	}
	return p.Bytes()
}

// Score is a ticket's number: SHA-256 of the 64 hex digits of the seed and the
// 16 characters of the ticket, 80 bytes.
func Score(seed Digest, t Ticket) Digest {
	return Hash([]byte(seed.String() + t.String()))
}

// A scorer computes scores. The seed's 64 hex digits fill one block of
// SHA-256, so that its state after them is kept and restored for each ticket.
type scorer struct {
	state []byte
	hash  hash.Hash
	load  encoding.BinaryUnmarshaler
	sum   Digest
}

func newScorer(seed Digest) *scorer {
	h := sha256.New()
	h.Write([]byte(seed.String()))
	state, err := h.(encoding.BinaryMarshaler).MarshalBinary()
	if err != nil {
		panic("draw: SHA-256 does not marshal: " + err.Error()) // crypto/sha256 documents that it does
	}
	return &scorer{state: state, hash: h, load: h.(encoding.BinaryUnmarshaler)}
}

// score returns the score of the 16 bytes of a ticket; it holds until the next.
func (s *scorer) score(ticket []byte) *Digest {
	if err := s.load.UnmarshalBinary(s.state); err != nil {
		panic("draw: SHA-256 does not take its own state: " + err.Error())
	}
	s.hash.Write(ticket)
	s.hash.Sum(s.sum[:0])
	return &s.sum
}

// less is the order of the draw: ascending by score, then by ticket.
func (p *Place) less(q *Place) bool {
	if c := bytes.Compare(p.Score[:], q.Score[:]); c != 0 {
		return c < 0
	}
	return p.Ticket.Less(q.Ticket)
}

// lowest keeps the k places of the lowest scores: a heap whose root is the
// highest of them.
type lowest struct {
	k    int
	heap []Place
}

func (l *lowest) add(ticket []byte, score *Digest) {
	full := len(l.heap) == l.k
	if full && (l.k == 0 || bytes.Compare(score[:], l.heap[0].Score[:]) > 0) {
		return
	}
	p := Place{Score: *score}
	copy(p.Ticket[:], ticket)
	l.addPlace(p)
}

func (l *lowest) addPlace(p Place) {
	switch {
	case len(l.heap) < l.k:
		l.heap = append(l.heap, p)
		l.up(len(l.heap) - 1)
	case l.k > 0 && p.less(&l.heap[0]):
		l.heap[0] = p
		l.down(0)
	}
}

func (l *lowest) up(i int) {
	for i > 0 {
		parent := (i - 1) / 2
		if !l.heap[parent].less(&l.heap[i]) {
			return
		}
		l.heap[parent], l.heap[i] = l.heap[i], l.heap[parent]
		i = parent
	}
}

func (l *lowest) down(i int) {
	for {
		child := 2*i + 1
		if child >= len(l.heap) {
			return
		}
		if child+1 < len(l.heap) && l.heap[child].less(&l.heap[child+1]) {
			child++
		}
		if !l.heap[i].less(&l.heap[child]) {
			return
		}
		l.heap[i], l.heap[child] = l.heap[child], l.heap[i]
		i = child
	}
}
