//go:build !race

package race

// Enabled tells whether the race detector runs.
const Enabled = false
