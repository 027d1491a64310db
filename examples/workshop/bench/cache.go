package bench

import (
	"slices"
	"sync"
)

// cache keeps the few last things that were made, each made once however many
// ask for it at the same time.
type cache[K comparable, V any] struct {
	most    int
	mutex   sync.Mutex
	entries []*entry[K, V] // the last used at the end
}

type entry[K comparable, V any] struct {
	key   K
	once  sync.Once
	value V
	err   error
}

func (c *cache[K, V]) get(key K, make func() (V, error)) (V, error) {
	e := c.entry(key)
	e.once.Do(func() { e.value, e.err = make() })
	return e.value, e.err
}

func (c *cache[K, V]) entry(key K) *entry[K, V] {
	c.mutex.Lock()
	defer c.mutex.Unlock()
	e := &entry[K, V]{key: key}
	if i := slices.IndexFunc(c.entries, func(e *entry[K, V]) bool { return e.key == key }); i >= 0 {
		e = c.entries[i]
		c.entries = slices.Delete(c.entries, i, i+1)
	}
	c.entries = append(c.entries, e)
	if len(c.entries) > c.most {
		c.entries = slices.Delete(c.entries, 0, 1)
	}
	return e
}
