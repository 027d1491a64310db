package report_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/browser"
)

// short is the folder of a demonstration with short sweeps and little material.
// It is made once for all tests, when the first needs it, and so is each report.
var short string

func TestMain(m *testing.M) {
	var err error
	if short, err = os.MkdirTemp("", "report-"); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := browser.Main(m)
	os.RemoveAll(short)
	os.Exit(code)
}

// page writes the report of the short demonstration after a change to its
// session, and returns the page's path.
func page(t *testing.T, name string, change func(*session.Session)) string {
	t.Helper()
	to := filepath.Join(short, strings.ReplaceAll(name, " ", "-"))
	path := filepath.Join(to, "report.html")
	if _, err := os.Stat(path); err == nil {
		return path
	}
	if _, err := os.Stat(filepath.Join(short, "session.toml")); err != nil {
		require.NoError(t, demo.Write(short, demo.Options{Seconds: 1, Seatings: 2, Material: 4}, func(string) {}))
	}
	s, err := session.Read(short)
	require.NoError(t, err)
	change(s)
	m, err := s.Review(nil)
	require.NoError(t, err)
	require.NoError(t, report.Write(to, m, false))
	require.NoError(t, report.WriteTranslation(to, m, "de", false))
	return path
}
