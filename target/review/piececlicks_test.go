package review

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/programme"
)

// A drum is as sudden as a click. Where one recording goes on alone, no other says which it is, and
// nothing is computed from it.
func TestClicksBesideTheComparedPart(t *testing.T) {
	click := func(at float64) response.Finding { return response.Finding{Kind: fitness.Clicks, Time: at} }
	a := &programme.Alignment{Delay: 2, From: 1, To: 10} // the other recording has it from 3 s to 12 s
	found := [2][]response.Finding{{click(0.5), click(4), click(5), click(10.5)}, {click(2.5), click(7), click(9), click(12.5)}}
	out := withoutMaterial(found, a)
	assert.Equal(t, []response.Finding{click(4)}, out[0], "5 s is 7 s in the other")
	assert.Equal(t, []response.Finding{click(9)}, out[1])
}
