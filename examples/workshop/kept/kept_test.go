package kept

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func Example() {
	squares := Things[int, int]{Most: 10}
	for range 2 {
		nine, err := squares.Get(context.Background(), 3, func(context.Context) (int, error) {
			fmt.Println("made once")
			return 9, nil
		})
		fmt.Println(nine, err)
	}
	// Output:
	// made once
	// 9 <nil>
	// 9 <nil>
}

func TestResultsAreMadeOnceAndTheLastFewKept(t *testing.T) {
	things, made := Things[int, int]{Most: 2}, 0
	get := func(key int) {
		v, err := things.Get(context.Background(), key, func(context.Context) (int, error) { made++; return -key, nil })
		require.NoError(t, err)
		require.Equal(t, -key, v)
	}
	for _, key := range []int{1, 2, 1, 3, 1} { // 3 drives out 2, not 1, which was asked for later
		get(key)
	}
	assert.Equal(t, 3, made)
	get(2)
	assert.Equal(t, 4, made)
}

func TestMakingStopsWhenNobodyWaits(t *testing.T) {
	things := Things[string, int]{Most: 2}
	begun, stopped := make(chan struct{}), make(chan struct{})
	slow := func(ctx context.Context) (int, error) {
		close(begun)
		<-ctx.Done()
		close(stopped)
		return 0, ctx.Err()
	}
	first, leaveFirst := context.WithCancel(context.Background())
	second, leaveSecond := context.WithCancel(context.Background())
	var wait sync.WaitGroup
	for _, ctx := range []context.Context{first, second} {
		wait.Go(func() {
			_, err := things.Get(ctx, "slow", slow)
			assert.ErrorIs(t, err, context.Canceled)
		})
	}
	<-begun
	for waiting := 0; waiting < 2; { // both have asked
		things.mutex.Lock()
		waiting = things.entries[0].waiting
		things.mutex.Unlock()
	}
	leaveFirst()
	select {
	case <-stopped:
		t.Fatal("one still waits")
	default:
	}
	leaveSecond()
	<-stopped
	wait.Wait()
	v, err := things.Get(context.Background(), "slow", func(context.Context) (int, error) { return 7, nil })
	require.NoError(t, err, "what was stopped is made anew")
	assert.Equal(t, 7, v)
}

func TestFailuresAreNotKept(t *testing.T) {
	things := Things[int, int]{Most: 2}
	broken := errors.New("broken")
	_, err := things.Get(context.Background(), 1, func(context.Context) (int, error) { return 0, broken })
	require.ErrorIs(t, err, broken)
	v, err := things.Get(context.Background(), 1, func(context.Context) (int, error) { return 5, nil })
	require.NoError(t, err)
	assert.Equal(t, 5, v)
}

func TestManyAskForOne(t *testing.T) {
	things := Things[int, int]{Most: 2}
	var made atomic.Int32
	var wait sync.WaitGroup
	for range 20 {
		wait.Go(func() {
			v, err := things.Get(context.Background(), 1, func(context.Context) (int, error) { made.Add(1); return 10, nil })
			assert.NoError(t, err)
			assert.Equal(t, 10, v)
		})
	}
	wait.Wait()
	assert.EqualValues(t, 1, made.Load())
}
