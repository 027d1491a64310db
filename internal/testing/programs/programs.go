// Package programs is for tests that compare the library with other programs, which need not be
// installed.
//
//	sox := programs.Need(t, "sox")
//	out, err := exec.Command(sox, "--version").Output()
package programs

import (
	"os"
	"os/exec"
	"strings"
)

// Required is the environment variable that, set to 1, forbids skipping a test without a program.
// The project's checks set it.
const Required = "EARNEST_REQUIRE_PROGRAMS"

// Test is the part of *testing.T, *testing.B or *testing.F that Need uses.
type Test interface {
	Helper()
	Skipf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// packages holds the Debian package of each program whose package has another name.
var packages = map[string]string{
	"mysofa2json":      "libmysofa-utils",
	"/usr/bin/python3": "python3-scipy",
	"ffprobe":          "ffmpeg",
}

// Need returns the path of a program, given by its name or its path. If it is not installed the
// test is skipped, or fails if Required says so.
func Need(t Test, program string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err == nil {
		return path
	}
	if os.Getenv(Required) != "1" {
		t.Skipf("%s is not installed", program)
		return ""
	}
	name, other := packages[program]
	if !other {
		name = program
	}
	t.Fatalf("%s is not installed, and %s asks for it: apt-get install %s", program, Required, name)
	return ""
}

// NeedLibrary returns the path of Python, which can load a shared library of that file name. Where
// either is not installed the test is skipped, or fails if Required says so.
func NeedLibrary(t Test, name string) (python string) {
	t.Helper()
	python = Need(t, "/usr/bin/python3")
	if python == "" || exec.Command(python, "-c", "import ctypes, sys; ctypes.CDLL(sys.argv[1])", name).Run() == nil {
		return python
	}
	if os.Getenv(Required) != "1" {
		t.Skipf("%s is not installed", name)
		return ""
	}
	library, version, _ := strings.Cut(name, ".so.")
	t.Fatalf("%s is not installed, and %s asks for it: apt-get install %s-%s", name, Required, library, version)
	return ""
}
