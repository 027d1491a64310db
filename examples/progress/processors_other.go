//go:build !unix

package progress

import "time"

// processors is not known on this system.
func processors() time.Duration { return 0 }
