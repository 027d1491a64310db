package watch

import (
	"context"
	"time"

	"github.com/fsnotify/fsnotify"
)

// poll is the interval between looks at the folder. It does not depend on notifications, which
// network folders do not send.
const poll = 500 * time.Millisecond

// work looks at the folder whenever something changes in it and judges complete files, until the
// context ends.
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
			select { // skip the many events of one writer
			case <-time.After(poll / 5):
			case <-ctx.Done():
			}
		}
	}
}
