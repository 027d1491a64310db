package duration

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestDuration(t *testing.T) {
	assert.Equal(t, 1500*time.Millisecond, Of(1.5))
	assert.Equal(t, -time.Microsecond, Of(-1e-6))
	assert.Equal(t, 48, Samples(time.Millisecond, 48000))
	assert.Equal(t, 44, Samples(time.Millisecond, 44100), "44.1")
	assert.Equal(t, 2, Samples(1500*time.Microsecond, 1000), "halves away from zero")
}
