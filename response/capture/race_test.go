//go:build race

package capture_test

// underRace says that the race detector runs, which makes everything some ten
// times slower.
const underRace = true
