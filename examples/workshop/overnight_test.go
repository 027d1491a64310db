package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Before the guess the page does not reveal the answer; after it, it shows the truth, the test and
// the count.
func TestOvernight(t *testing.T) {
	server := httptest.NewServer(newWorkshop())
	defer server.Close()
	get := func(query string) (int, string) {
		answer, err := http.Get(server.URL + "/overnight?" + query)
		require.NoError(t, err)
		defer answer.Body.Close()
		page, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		return answer.StatusCode, string(page)
	}
	code, page := get("night=3")
	assert.Equal(t, http.StatusOK, code)
	assert.Contains(t, page, "Did it change?")
	assert.NotContains(t, page, "The test:")
	code, page = get("night=3&guess=yes&right=1&of=2")
	assert.Equal(t, http.StatusOK, code)
	assert.Contains(t, page, "The test: did it change?")
	assert.Contains(t, page, "times of 3")
	for _, wrong := range []string{"night=0", "seatings=99", "guess=maybe", "of=x"} {
		code, page = get(wrong)
		assert.Equal(t, http.StatusBadRequest, code, wrong)
		assert.Contains(t, page, "it is", wrong)
	}
}

// Half of the pairs change, and with eight seatings of each the test is wrong about few of them and
// detects some of the changes.
func TestNights(t *testing.T) {
	changed, told := 0, 0
	for number := 1; number <= 12; number++ {
		n, err := readNight(url.Values{"guess": {"yes"}, "seatings": {"8"}})
		require.NoError(t, err)
		n.Number = number
		require.NoError(t, n.measure())
		if n.Changed {
			changed++
		}
		if n.Answer == "yes" {
			told++
			assert.True(t, n.Changed, "night %d: %s", number, n.Text)
		}
	}
	assert.InDelta(t, 6, changed, 4, "a coin, 12 times: 2 to 10 in 99.7 %")
	assert.Positive(t, told)
}
