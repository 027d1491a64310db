package session

import (
	"os"
	"runtime/debug"
)

// SpareMemory makes this process collect garbage when it has grown by a tenth, instead of doubled,
// unless GOGC in the environment says otherwise. Samples hold no pointers, so collecting takes
// almost no time. Without it a review needs 1.5 times the memory.
func SpareMemory() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(10)
	}
}
