// Package kept keeps the last few things that were made, so that whoever asks again need not wait.
package kept

import (
	"context"
	"slices"
	"sync"
)

// Things are values by what they are made from. Each is made once, however many ask for it at the
// same time; one that nobody waits for any more is stopped and forgotten, and so is one that failed.
// The zero value keeps none but those that are in the making.
type Things[K comparable, V any] struct {
	Most    int // that are kept
	mutex   sync.Mutex
	entries []*entry[K, V] // the last asked for at the end
}

// entry is a thing, made or in the making.
type entry[K comparable, V any] struct {
	key     K
	waiting int // who asked and has no answer yet
	stop    context.CancelFunc
	done    chan struct{} // closed when it is made
	value   V
	err     error
}

// Get returns the thing of a key, which create makes unless it is there. The context of create ends
// when all who wait for the thing have gone. The error is that of create, or of ctx.
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

// ask returns the entry of a key, and begins to make it where there is none.
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

// leave takes back a question: what nobody waits for is stopped, and no more than Most are kept.
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

func (e *entry[K, V]) made() bool {
	select {
	case <-e.done:
		return true
	default:
		return false
	}
}

func (t *Things[K, V]) forget(e *entry[K, V]) {
	if i := slices.Index(t.entries, e); i >= 0 {
		t.entries = slices.Delete(t.entries, i, i+1)
	}
}
