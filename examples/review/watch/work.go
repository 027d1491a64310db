package watch

import (
	"context"
	"time"

	"github.com/fsnotify/fsnotify"
)

// poll is how often the folder is looked at, whether or not the system says that something has changed: on
// network folders it does not.
const poll = 500 * time.Millisecond

// work looks at the folder whenever something happens in it, and judges what is whole, until the context ends.
func (d *desk) work(ctx context.Context) {
	events := make(<-chan fsnotify.Event)
	if watcher, err := fsnotify.NewWatcher(); err == nil {
		defer watcher.Close()
		if watcher.Add(d.folder) == nil {
			events = watcher.Events
		}
	}
	d.mutex.Lock()
	d.look(time.Now())
	d.first = d.arrived
	d.mutex.Unlock()
	ticker := time.NewTicker(poll)
	defer ticker.Stop()
	for {
		for d.step(time.Now()) && ctx.Err() == nil {
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		case <-events:
			select { // a writer's blocks come by the hundred
			case <-time.After(poll / 5):
			case <-ctx.Done():
			}
		}
	}
}
