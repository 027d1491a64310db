// Package kept is a cache of the last few computed values. Each value is computed once, however
// many callers ask for it at the same time.
package kept

import (
	"context"
	"slices"
	"sync"
)

// Things holds values by key. A computation that no caller waits for any more is stopped and
// forgotten. A failed one is forgotten too. The zero value keeps no values, only running
// computations.
type Things[K comparable, V any] struct {
	Most    int // largest number of kept values
	mutex   sync.Mutex
	entries []*entry[K, V] // most recently used last
}

// Get returns the value of a key and calls create if it is not kept. The context of create ends
// when no caller waits any more. The error is that of create or of ctx.
func (t *Things[K, V]) Get(ctx context.Context, key K, create func(context.Context) (V, error)) (V, error) {
	e := t.ask(key, create)
	select {
	case <-e.done:
		t.leave(e)
		return e.value, e.err
	case <-ctx.Done():
		t.leave(e)
		var none V
		return none, ctx.Err()
	}
}

// ask returns the entry of a key and starts its computation if there is none.
func (t *Things[K, V]) ask(key K, create func(context.Context) (V, error)) *entry[K, V] {
	t.mutex.Lock()
	defer t.mutex.Unlock()
	i := slices.IndexFunc(t.entries, func(e *entry[K, V]) bool { return e.key == key })
	if i >= 0 {
		e := t.entries[i]
		e.waiting++
		t.entries = append(slices.Delete(t.entries, i, i+1), e)
		return e
	}
	ctx, stop := context.WithCancel(context.Background())
	e := &entry[K, V]{key: key, waiting: 1, stop: stop, done: make(chan struct{})}
	t.entries = append(t.entries, e)
	go func() {
		defer stop()
		e.value, e.err = create(ctx)
		t.mutex.Lock()
		defer t.mutex.Unlock()
		if e.err != nil {
			t.forget(e)
		}
		close(e.done)
	}()
	return e
}

// leave ends a caller's wait. It stops a computation that no caller waits for, and drops values
// beyond Most.
func (t *Things[K, V]) leave(e *entry[K, V]) {
	t.mutex.Lock()
	defer t.mutex.Unlock()
	if e.waiting--; e.waiting == 0 && !e.made() {
		e.stop()
		t.forget(e)
	}
	for i := 0; i < len(t.entries) && len(t.entries) > t.Most; {
		if old := t.entries[i]; old.waiting == 0 {
			t.forget(old)
			continue
		}
		i++
	}
}

func (t *Things[K, V]) forget(e *entry[K, V]) {
	if i := slices.Index(t.entries, e); i >= 0 {
		t.entries = slices.Delete(t.entries, i, i+1)
	}
}

// entry is a value that is computed or being computed.
type entry[K comparable, V any] struct {
	key     K
	waiting int // number of callers that wait
	stop    context.CancelFunc
	done    chan struct{} // closed when the value is ready
	value   V
	err     error
}

func (e *entry[K, V]) made() bool {
	select {
	case <-e.done:
		return true
	default:
		return false
	}
}
