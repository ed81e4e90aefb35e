package draw

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"runtime"
	"slices"
	"sort"
)

// blockLines is how many lines of the roll are handed on at a time. Memory is
// a few blocks, whatever the length of the roll.
const blockLines = 4096

// A scan is one pass over the lists: their form, order, counts and hashes, the
// tickets that stand in both, and, where a seed is given, the places. One
// goroutine hashes the roll, the others check and score blocks of it; the
// caller's goroutine takes the blocks in order and merges excluded.txt.
type scan struct {
	roll     io.Reader
	excluded io.Reader // may be nil
	seed     *Digest   // nil: no scores
	places   int
	wanted   []Ticket // ascending; reported in found
	rankOf   *Digest  // counts the tickets that stand before this score
	progress func(tickets int64)
	free     chan []byte // buffers of blocks that are done with
}

// scanned is what a scan saw. A list's fault says what is wrong with its form;
// the list's count and hash then mean nothing.
type scanned struct {
	roll, excluded           List
	rollFault, excludedFault *SyntaxError
	places                   []Place
	found                    map[Ticket]Standing
	before                   int64 // tickets whose score is lower than rankOf
}

// A Standing is where a ticket stands after the freeze.
type Standing struct {
	In         bool   `json:"in"`               // in roll.txt
	Line       int64  `json:"line"`             // in its list, from 1
	Commitment Digest `json:"commitment"`       // where In
	Reason     string `json:"reason,omitempty"` // where not
}

// block is a run of whole lines of the roll, in the order of its index.
type block struct {
	first  int64 // line number of its first line, from 1
	data   []byte
	fault  *SyntaxError
	done   chan struct{} // closed when a worker has been over it
	hashed chan struct{} // closed when the hash has been over it
}

// worker checks and scores blocks; its lowest places are merged at the end.
type worker struct {
	scorer *scorer
	low    lowest
	rankOf *Digest
	before int64
}

func (s *scan) run() (scanned, error) {
	out := scanned{found: map[Ticket]Standing{}}
	n := max(1, runtime.GOMAXPROCS(0))
	s.free = make(chan []byte, 2*n+2)
	todo, toHash := make(chan *block, n), make(chan *block, n)
	inOrder := make(chan *block, n)
	stop := make(chan struct{})
	readErr := make(chan error, 1)
	go func() { readErr <- s.read(todo, toHash, inOrder, stop) }()

	rollHash := sha256.New()
	go hashBlocks(rollHash, toHash)
	workers := make([]*worker, n)
	idle := make(chan struct{}, n)
	for i := range workers {
		workers[i] = s.newWorker()
		go func() { workers[i].work(todo); idle <- struct{}{} }()
	}

	mergeErr := s.merge(&out, inOrder)
	close(stop)
	for b := range inOrder { // what the reader had sent before it saw the stop
		<-b.done
		<-b.hashed
	}
	for range workers {
		<-idle
	}
	if err := cmp.Or(<-readErr, mergeErr); err != nil {
		return out, err
	}
	out.roll.Hash = Digest(rollHash.Sum(nil))
	s.collect(&out, workers)
	return out, nil
}

// read cuts the roll into blocks. Each goes to a worker, to the hash and, in
// order, to the merge.
func (s *scan) read(todo, toHash, inOrder chan<- *block, stop <-chan struct{}) error {
	defer close(todo)
	defer close(toHash)
	defer close(inOrder)
	for line := int64(1); ; line += blockLines {
		buf := s.buffer()
		n, err := io.ReadFull(s.roll, buf)
		if n > 0 {
			b := &block{first: line, data: buf[:n], done: make(chan struct{}), hashed: make(chan struct{})}
			select {
			case inOrder <- b:
			case <-stop:
				return nil
			}
			todo <- b
			toHash <- b
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("read %s: %w", RollFile, err)
		}
	}
}

// buffer is one that merge is done with, or a new one.
func (s *scan) buffer() []byte {
	select {
	case buf := <-s.free:
		return buf[:cap(buf)]
	default:
		return make([]byte, blockLines*rollLine)
	}
}

func (s *scan) recycle(b *block) {
	select {
	case s.free <- b.data:
	default:
	}
}

func hashBlocks(h hash.Hash, in <-chan *block) {
	for b := range in {
		h.Write(b.data)
		close(b.hashed)
	}
}

func (s *scan) newWorker() *worker {
	w := &worker{low: lowest{k: s.places}, rankOf: s.rankOf}
	if s.seed != nil {
		w.scorer = newScorer(*s.seed)
	}
	return w
}

func (w *worker) work(in <-chan *block) {
	for b := range in {
		b.fault = w.lines(b)
		close(b.done)
	}
}

// lines goes over the lines of one block: form, order within it, scores.
func (w *worker) lines(b *block) *SyntaxError {
	var last []byte
	for i, line := 0, b.first; i < len(b.data); i, line = i+rollLine, line+1 {
		row := b.data[i:min(i+rollLine, len(b.data))]
		if why := rollLineFault(row); why != "" {
			return &SyntaxError{RollFile, int(line), rowFault(row, why)}
		}
		ticket := row[:ticketLen]
		if last != nil && bytes.Compare(last, ticket) >= 0 {
			return &SyntaxError{RollFile, int(line), wantAscending}
		}
		last = ticket
		if w.scorer != nil {
			score := w.scorer.score(ticket)
			w.low.add(ticket, score)
			if w.rankOf != nil && bytes.Compare(score[:], w.rankOf[:]) < 0 {
				w.before++
			}
		}
	}
	return nil
}

const wantAscending = "want the tickets in strictly ascending order, each once"

// rowFault names what is easy to overlook.
func rowFault(row []byte, otherwise string) string {
	if end := bytes.IndexByte(row, '\n'); end > 0 && row[end-1] == '\r' || bytes.HasSuffix(row, []byte("\r")) {
		return "want lines that end in LF alone; here is a CR"
	}
	if bytes.HasPrefix(row, []byte("\n")) {
		return "want no empty line"
	}
	if bytes.HasPrefix(row, []byte("\ufeff")) {
		return "want a ticket first; a byte-order mark stands before it"
	}
	return otherwise
}

// merge takes the blocks in order: order across them, tickets in both lists,
// wanted tickets.
func (s *scan) merge(out *scanned, inOrder <-chan *block) error {
	ex := newExcludedReader(s.excluded)
	wanted := s.wanted
	var last []byte
	for b := range inOrder {
		<-b.done
		if out.rollFault = b.fault; out.rollFault != nil {
			<-b.hashed
			break
		}
		if last != nil && bytes.Compare(last, b.data[:ticketLen]) >= 0 {
			out.rollFault = &SyntaxError{RollFile, int(b.first), wantAscending}
			<-b.hashed
			break
		}
		last = append(last[:0], b.data[len(b.data)-rollLine:][:ticketLen]...)
		out.roll.Count += int64(len(b.data) / rollLine)
		for ; len(wanted) > 0 && string(wanted[0][:]) <= string(last); wanted = wanted[1:] {
			if i := b.find(wanted[0]); i >= 0 {
				_, c, _ := RollLine(b.data[i*rollLine:][:rollLine])
				out.found[wanted[0]] = Standing{In: true, Line: b.first + int64(i), Commitment: c}
			}
		}
		if err := ex.upTo(string(last), s.wanted, out, b); err != nil {
			return err
		}
		<-b.hashed
		s.recycle(b)
		if s.progress != nil {
			s.progress(out.roll.Count)
		}
	}
	return ex.upTo("", s.wanted, out, nil)
}

// find is the index of a ticket's line within the block, or -1.
func (b *block) find(t Ticket) int {
	n := len(b.data) / rollLine
	i := sort.Search(n, func(i int) bool { return string(b.data[i*rollLine:][:ticketLen]) >= string(t[:]) })
	if i < n && string(b.data[i*rollLine:][:ticketLen]) == string(t[:]) {
		return i
	}
	return -1
}

// collect merges what the workers kept.
func (s *scan) collect(out *scanned, workers []*worker) {
	all := lowest{k: s.places}
	for _, w := range workers {
		out.before += w.before
		for _, p := range w.low.heap {
			all.addPlace(p)
		}
	}
	slices.SortFunc(all.heap, func(a, b Place) int {
		if a.less(&b) {
			return -1
		}
		return 1
	})
	for i := range all.heap {
		all.heap[i].N = i + 1
	}
	out.places = all.heap
}

// Order is one pass over a roll: its count and hash, and the first places of
// the order of the draw. Fewer tickets than places give fewer places.
func Order(seed Digest, roll io.Reader, places int) (List, []Place, error) {
	s := scan{roll: roll, seed: &seed, places: places}
	out, err := s.run()
	if err != nil {
		return List{}, nil, err
	}
	if out.rollFault != nil {
		return List{}, nil, out.rollFault
	}
	return out.roll, out.places, nil
}
