package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whatever lies in the file named with -resume: whole lines and a rest are all of it, or it is
// refused.
func FuzzReadEarlier(f *testing.F) {
	good := `{"schema":"` + Schema + `","version":1,"session":"a/session.toml","error":"no such file"}` + "\n"
	for _, s := range []string{"", good, good + good[:20], "\n", "{}\n", good[:len(good)-1], `{"schema":"` + Schema + `","version":99,"session":"a","results":{}}` + "\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		e, whole, rest, err := readEarlier(bytes.NewReader(data))
		if err != nil {
			return
		}
		require.EqualValues(t, len(data), whole+rest)
		require.LessOrEqual(t, len(e.failed), bytes.Count(data, []byte{'\n'}), "a session takes a line")
	})
}
