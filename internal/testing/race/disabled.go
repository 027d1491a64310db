//go:build !race

package race

// Enabled reports whether the race detector runs.
const Enabled = false
