package main

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"regexp"
	"runtime"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPortTaken(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer taken.Close()
	port := taken.Addr().(*net.TCPAddr).Port
	err = run(context.Background(), []string{"-port", fmt.Sprint(port)}, &bytes.Buffer{})
	require.ErrorIs(t, err, syscall.EADDRINUSE)
	assert.Contains(t, err.Error(), fmt.Sprintf("port %d is in use", port))
	assert.Contains(t, err.Error(), "-port", "what to do about it")
}

func TestInvalidArguments(t *testing.T) {
	assert.ErrorContains(t, run(context.Background(), []string{"-port", "70000"}, &bytes.Buffer{}), "70000 is not a port")
	assert.ErrorContains(t, run(context.Background(), []string{"here"}, &bytes.Buffer{}), `unexpected argument "here"`)
}

// lines hands over what is printed, a write at a time.
type lines chan string

func (l lines) Write(p []byte) (int, error) { l <- string(p); return len(p), nil }

func TestItPrintsItsAddressAnswersThereAndStops(t *testing.T) {
	ctx, interrupt := context.WithCancel(context.Background())
	defer interrupt()
	printed, ended := make(lines, 1), make(chan error, 1)
	go func() { ended <- run(ctx, []string{"-port", "0"}, printed) }()
	address := regexp.MustCompile(`http://127\.0\.0\.1:\d+/`).FindString(<-printed)
	require.NotEmpty(t, address)
	answer, err := http.Get(address)
	require.NoError(t, err)
	answer.Body.Close()
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	interrupt()
	require.NoError(t, <-ended)
	_, err = http.Get(address)
	assert.Error(t, err, "nobody is there any more")
}

func TestManyAskAtTheSameTime(t *testing.T) {
	server := httptest.NewServer(open(newQueue(runtime.GOMAXPROCS(0), waiting, time.Minute))) // so that a slow machine turns nobody away
	defer server.Close()
	var wait sync.WaitGroup
	for i := range 12 {
		wait.Go(func() {
			answer, err := http.Get(fmt.Sprintf("%s/?duration=0.35&lesson=%d&smoothing=%d", server.URL, 1+i%6, 1+i%3))
			if assert.NoError(t, err) {
				answer.Body.Close()
				assert.Equal(t, http.StatusOK, answer.StatusCode)
			}
		})
	}
	wait.Wait()
}

func TestAnInvalidAddressIsRefusedWithThePage(t *testing.T) {
	server := httptest.NewServer(newWorkshop())
	defer server.Close()
	answer, err := http.Get(server.URL + "/?duration=0.35&level=%3Cscript%3E")
	require.NoError(t, err)
	defer answer.Body.Close()
	var page bytes.Buffer
	_, err = page.ReadFrom(answer.Body)
	require.NoError(t, err)
	assert.Equal(t, http.StatusBadRequest, answer.StatusCode)
	assert.Contains(t, page.String(), "level: &#34;&lt;script&gt;&#34; cannot be set")
	assert.Contains(t, page.String(), "<form")
	for _, path := range []string{"/nothing", "/favicon.png"} {
		answer, err := http.Get(server.URL + path)
		require.NoError(t, err)
		answer.Body.Close()
		assert.Equal(t, http.StatusNotFound, answer.StatusCode, path)
	}
}
