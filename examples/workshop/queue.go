package main

import (
	"context"
	"errors"
	"time"
)

// errBusy is returned to a request that would have to wait too long.
var errBusy = errors.New("the workshop is busy with other pages; try again")

// queue runs a few requests at a time and lets a few more wait for a limited time.
type queue struct {
	places   chan struct{} // running and waiting requests
	turns    chan struct{} // running requests
	patience time.Duration // longest wait
}

func newQueue(turns, waiting int, patience time.Duration) *queue {
	return &queue{make(chan struct{}, turns+waiting), make(chan struct{}, turns), patience}
}

// enter waits for a turn, which leave ends. It returns errBusy if every place is taken or no turn
// comes in time, and the context's error if that ends first.
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
