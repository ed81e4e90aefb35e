package web

import (
	"encoding/json"
	"slices"
	"sync"
	"time"

	"evenhand/draw"
	"evenhand/entries"
)

// readLife is how long the rows of a file that was read stay in memory.
const readLife = 10 * time.Minute

// A lastRead keeps the rows of the file that was read last, so that its pages,
// 200 rows each, don't each read all of it. There is one in a process: rows are
// personal data, and 200,000 of them take room. The zero value is ready.
type lastRead struct {
	mu     sync.Mutex // guards the rest; held while a file is read, so that one is at a time
	of     draw.Digest
	file   entries.Imported
	forget *time.Timer
}

// get returns the rows of a reading (see [upload.reading]), which it reads
// unless they are those that it has. The rows are the caller's own; what lies
// in them is shared and never changed.
func (l *lastRead) get(of draw.Digest, read func() (entries.Imported, error)) (entries.Imported, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.forget == nil || l.of != of {
		l.drop()
		file, err := read()
		if err != nil {
			return entries.Imported{}, err
		}
		l.of, l.file = of, file
		l.forget = time.AfterFunc(readLife, func() {
			l.mu.Lock()
			defer l.mu.Unlock()
			if l.of == of {
				l.drop()
			}
		})
	}
	file := l.file
	file.Rows = slices.Clone(file.Rows)
	return file, nil
}

// clear forgets what was read.
func (l *lastRead) clear() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.drop()
}

// drop is clear for who holds mu.
func (l *lastRead) drop() {
	if l.forget != nil {
		l.forget.Stop()
	}
	l.of, l.file, l.forget = draw.Digest{}, entries.Imported{}, nil
}

// reading tells one reading of a file from any other: by the file, by what its
// columns mean, and by the terms that decide its rows.
func (u upload) reading() (draw.Digest, error) {
	b, err := json.Marshal([]any{u.g.ID, u.key, u.choice, u.g.Terms.Mark()})
	return draw.Hash(b), err
}
