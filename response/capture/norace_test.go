//go:build !race

package capture_test

// underRace says that the race detector runs; it does not.
const underRace = false
