package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// A progressBar is one line on a terminal that shows how far a pass over a
// long roll has come. On anything but a terminal it is silent.
type progressBar struct {
	to    io.Writer // nil: silent
	total int64     // tickets; 0 where that is not known
	next  int64     // tickets at which the line is next drawn
	shown bool
}

const (
	longRoll  = 200_000 // tickets from which on there is a bar
	everyFew  = 50_000  // tickets between two drawings of it
	barWidth  = 40      // characters
	lineBytes = 82      // of a line of roll.txt
)

// progress makes a bar for a roll of so many tickets.
func (p *program) progress(total int64) *progressBar {
	f, ok := p.stderr.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return &progressBar{}
	}
	return &progressBar{to: f, total: total, next: longRoll}
}

// at draws the bar, now and then.
func (b *progressBar) at(tickets int64) {
	if b.to == nil || tickets < b.next {
		return
	}
	b.next, b.shown = tickets+everyFew, true
	fmt.Fprintf(b.to, "\r%s", b.line(tickets))
}

func (b *progressBar) line(tickets int64) string {
	if b.total <= 0 {
		return fmt.Sprintf("%d tickets", tickets)
	}
	done := int(min(tickets, b.total) * barWidth / b.total)
	return fmt.Sprintf("[%s%s] %d of %d tickets", strings.Repeat("#", done), strings.Repeat(".", barWidth-done), tickets, b.total)
}

// end wipes the line.
func (b *progressBar) end() {
	if b.shown {
		fmt.Fprint(b.to, "\r\x1b[K")
	}
}

// reader counts the tickets of a roll that is read through it.
func (b *progressBar) reader(r io.Reader) io.Reader {
	if b.to == nil {
		return r
	}
	return &counted{r, b, 0}
}

type counted struct {
	io.Reader
	bar  *progressBar
	read int64
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.read += int64(n)
	c.bar.at(c.read / lineBytes)
	return n, err
}
