package report_test

import (
	"fmt"
	"os"
	"path/filepath"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
)

// A measured and judged session becomes a page, results for programs, and tables.
func ExampleWrite() {
	folder, err := os.MkdirTemp("", "report")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	if err := writeReport(folder); err != nil {
		fmt.Println(err)
		return
	}
	for _, name := range report.Files {
		_, err := os.Stat(filepath.Join(folder, name))
		fmt.Println(name, err)
	}
	// Output:
	// report.html <nil>
	// results.json <nil>
	// results.schema.json <nil>
	// response.csv <nil>
	// distortion.csv <nil>
	// response.txt <nil>
}

func writeReport(folder string) error {
	small := demo.Options{Seconds: 1, Seatings: 1, Material: -1, Alone: true}
	if err := demo.Write(folder, small, func(string) {}); err != nil {
		return err
	}
	s, err := session.Read(folder)
	if err != nil {
		return err
	}
	m, err := s.Review(nil)
	if err != nil {
		return err
	}
	return report.Write(folder, m, false)
}
