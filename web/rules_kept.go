package web

import (
	"html/template"
	"sync"

	"evenhand/draw"
)

// written are the rules that were shown lately, as HTML: every reader of one
// giveaway's rules gets the same, and writing them is the slow part.
var written = writtenRules{by: map[draw.Digest]template.HTML{}}

// mostWritten bounds how many texts are kept: few giveaways go on at once.
const mostWritten = 16

// A writtenRules keeps HTML by the hash of the text that it was written from.
type writtenRules struct {
	mu sync.Mutex // guards by
	by map[draw.Digest]template.HTML
}

// get returns what is kept, or writes it. Several that come at once for a text
// that is not kept may each write it.
func (w *writtenRules) get(text draw.Digest, write func() template.HTML) template.HTML {
	w.mu.Lock()
	out, ok := w.by[text]
	w.mu.Unlock()
	if ok {
		return out
	}
	out = write()
	w.mu.Lock()
	defer w.mu.Unlock()
	for old := range w.by { // any of them makes room
		if len(w.by) < mostWritten {
			break
		}
		delete(w.by, old)
	}
	w.by[text] = out
	return out
}
