package report

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response"
)

// Forty seatings of one recording gave 247 findings above the response.
func TestManyDoubtsLeaveTheFirstScreen(t *testing.T) {
	v := &view{}
	var doubts []response.Finding
	for i := range 8 {
		f := response.Finding{Recording: fmt.Sprint(i), Severity: response.Warning}
		if i == 7 {
			f.Severity = response.Unfit
		}
		doubts = append(doubts, f)
	}
	assert.Equal(t, 3, v.Beyond(doubts))
	shown := v.Foremost(doubts)
	assert.Len(t, shown, 5)
	assert.Equal(t, "7", shown[0].Recording, "the gravest first")
	assert.Len(t, v.Foremost(doubts[:2]), 2)
	assert.Zero(t, v.Beyond(doubts[:2]))
}
