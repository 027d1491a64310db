package hugepage

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMakeReturnsZeros(t *testing.T) {
	for _, n := range []int{0, 1, large / 16, large / 8, 2*large/8 + 1} {
		x, z := Make[float64](n), Make[complex128](n)
		require.Len(t, x, n)
		require.Len(t, z, n)
		assert.False(t, slices.ContainsFunc(x, func(v float64) bool { return v != 0 }))
		assert.False(t, slices.ContainsFunc(z, func(v complex128) bool { return v != 0 }))
	}
}
