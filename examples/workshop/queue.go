package main

import (
	"context"
	"errors"
	"time"
)

// errBusy is returned to whoever would have to wait for too long.
var errBusy = errors.New("the workshop is busy with other pages; try again")

// queue lets a few in at a time, and holds a few more who wait for a while.
type queue struct {
	places   chan struct{} // of those who are in and those who wait
	turns    chan struct{} // of those who are in
	patience time.Duration // how long one may wait
}

func newQueue(turns, waiting int, patience time.Duration) *queue {
	return &queue{make(chan struct{}, turns+waiting), make(chan struct{}, turns), patience}
}

// enter waits for a turn, which leave ends. The error is errBusy where every place is taken, or no
// turn came in time, and that of the context where it ended first.
func (q *queue) enter(ctx context.Context) (leave func(), err error) {
	select {
	case q.places <- struct{}{}:
	default:
		return nil, errBusy
	}
	leave = func() { <-q.turns; <-q.places }
	select {
	case q.turns <- struct{}{}:
		return leave, nil
	default:
	}
	timer := time.NewTimer(q.patience)
	defer timer.Stop()
	select {
	case q.turns <- struct{}{}:
		return leave, nil
	case <-timer.C:
		err = errBusy
	case <-ctx.Done():
		err = ctx.Err()
	}
	<-q.places
	return nil, err
}
