package store

import (
	linked "container/list"
	"context"
	"sync"
)

// cachedChunks is how many chunks of published files a process keeps: 8 MiB.
const cachedChunks = 128

// A chunkCache keeps the chunks of published files that were read last. They
// never change, so nothing in it grows stale: a binary search in a long roll
// goes over the same few chunks each time.
type chunkCache struct {
	mu     sync.Mutex // guards what follows
	byName map[chunkName]*linked.Element
	order  *linked.List // of cachedChunk, the one read last in front
}

type chunkName struct {
	draw, version string
	n             int
}

type cachedChunk struct {
	name  chunkName
	bytes []byte // never written to
}

func newChunkCache() *chunkCache {
	return &chunkCache{byName: map[chunkName]*linked.Element{}, order: linked.New()}
}

func (c *chunkCache) get(name chunkName) ([]byte, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e := c.byName[name]
	if e == nil {
		return nil, false
	}
	c.order.MoveToFront(e)
	return e.Value.(cachedChunk).bytes, true
}

func (c *chunkCache) put(name chunkName, b []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.byName[name] != nil {
		return
	}
	c.byName[name] = c.order.PushFront(cachedChunk{name, b})
	if c.order.Len() > cachedChunks {
		last := c.order.Remove(c.order.Back()).(cachedChunk)
		delete(c.byName, last.name)
	}
}

// publishedChunk is a chunk of a published version. The caller does not write
// to it.
func (db *DB) publishedChunk(ctx context.Context, id, version string, n int) ([]byte, error) {
	name := chunkName{id, version, n}
	if b, found := db.cache.get(name); found {
		return b, nil
	}
	b, err := db.chunk(ctx, id, version, n)
	if err == nil {
		db.cache.put(name, b)
	}
	return b, err
}
