package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestQueueIsBounded(t *testing.T) {
	q := newQueue(1, 1, time.Hour)
	leave, err := q.enter(context.Background())
	require.NoError(t, err)
	entered := make(chan func())
	go func() {
		leave, err := q.enter(context.Background())
		assert.NoError(t, err)
		entered <- leave
	}()
	for len(q.places) < 2 { // the second waits
		runtime.Gosched()
	}
	_, err = q.enter(context.Background())
	assert.Equal(t, errBusy, err, "every place is taken")
	leave()
	leave = <-entered
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = q.enter(gone)
	assert.ErrorIs(t, err, context.Canceled)
	leave()
	assert.Empty(t, q.places)
	assert.Empty(t, q.turns)

	hasty := newQueue(1, 1, time.Nanosecond)
	leave, err = hasty.enter(context.Background())
	require.NoError(t, err)
	_, err = hasty.enter(context.Background())
	assert.Equal(t, errBusy, err, "no turn came in time")
	leave()
	assert.Empty(t, hasty.places)
}

// Every request gets a complete page, or the time after which to ask again.
func TestEveryRequestIsAnsweredOrAskedToWait(t *testing.T) {
	server := httptest.NewServer(open(newQueue(2, 2, time.Minute)))
	defer server.Close()
	var wait sync.WaitGroup
	var lock sync.Mutex
	codes := map[int]int{}
	for i := range 24 {
		wait.Go(func() {
			answer, text, err := ask(server.URL + fmt.Sprintf("/?duration=0.35&smoothing=%d", 1+i))
			if !assert.NoError(t, err) {
				return
			}
			lock.Lock()
			defer lock.Unlock()
			codes[answer.StatusCode]++
			switch answer.StatusCode {
			case http.StatusOK:
				assert.True(t, strings.HasSuffix(strings.TrimSpace(text), "</html>"))
			case http.StatusServiceUnavailable:
				assert.Equal(t, "3", answer.Header.Get("Retry-After"))
				assert.Equal(t, "workshop: the workshop is busy with other pages; try again in 3 s\n", text)
			}
		})
	}
	wait.Wait()
	assert.Equal(t, 24, codes[http.StatusOK]+codes[http.StatusServiceUnavailable], "%v", codes)
	assert.GreaterOrEqual(t, codes[http.StatusOK], 4, "as many as have places")
}

// A page that was made once is served again at once, even while the workshop is busy.
func TestPagesAreKept(t *testing.T) {
	q := newQueue(1, 0, 0)
	server := httptest.NewServer(open(q))
	defer server.Close()
	address := server.URL + "/?duration=0.35&level=-13"
	answer, first, err := ask(address)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, answer.StatusCode)
	q.places <- struct{}{} // as if another were in
	answer, second, err := ask(address)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, answer.StatusCode)
	assert.InDelta(t, len(first), len(second), 4, "how many ms it took has one to four digits")
	assert.NotEqual(t, first, second, "each with a nonce of its own")
	answer, _, err = ask(server.URL + "/?duration=0.35&level=-14")
	require.NoError(t, err)
	assert.Equal(t, http.StatusServiceUnavailable, answer.StatusCode)
}

func ask(address string) (*http.Response, string, error) {
	answer, err := http.Get(address)
	if err != nil {
		return nil, "", err
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	return answer, string(text), err
}

var crowd = flag.Int("crowd", 0, "so many clients ask a workshop that is open at -address for pages of their own, each ten times")
var crowdAddress = flag.String("address", "http://127.0.0.1:8437", "of the workshop for -crowd")

// The figures of a crowd, for a workshop in a process of its own, whose memory the system reports.
func TestCrowdFigures(t *testing.T) {
	if *crowd == 0 {
		t.Skip("takes minutes; -args -crowd 200 -address http://127.0.0.1:8437 runs it against an open workshop")
	}
	var wait sync.WaitGroup
	var lock sync.Mutex
	var took []float64
	codes := map[string]int{}
	for client := range *crowd {
		wait.Go(func() {
			for n := range 10 {
				page := client*10 + n
				start := time.Now()
				answer, text, err := ask(fmt.Sprintf("%s/?lesson=%d&seatings=%d&duration=%g&noise=-%g&smoothing=%d",
					*crowdAddress, 1+page%6, 1+page%4, []float64{0.35, 1, 2, 4}[page/4%4], 60+float64(page)/100, 1+page%48))
				lock.Lock()
				switch {
				case err != nil:
					codes[err.Error()]++
				case answer.StatusCode == http.StatusOK && !strings.HasSuffix(strings.TrimSpace(text), "</html>"):
					codes["cut off"]++
				case answer.StatusCode == http.StatusOK:
					took = append(took, time.Since(start).Seconds())
					codes["200"]++
				default:
					codes[answer.Status]++
				}
				lock.Unlock()
				if err == nil && answer.StatusCode == http.StatusServiceUnavailable {
					time.Sleep(3 * time.Second)
				}
			}
		})
	}
	wait.Wait()
	slices.Sort(took)
	require.NotEmpty(t, took)
	t.Logf("%v; accepted: median %.1f s, 99 %% within %.1f s, longest %.1f s", codes, took[len(took)/2], took[len(took)*99/100], took[len(took)-1])
}
