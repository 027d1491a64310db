package target_test

import (
	"fmt"
	"os"
	"path/filepath"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// The level of a pair is not part of its shape, so it is fitted. The place of the fit decides which
// parts look wrong.
func ExampleAlignment() {
	midrange := target.Alignment{Over: response.Band{Low: 300, High: 3000}}
	for _, align := range []target.Alignment{{}, midrange} {
		d, err := target.Compare(brightPair(), target.Flat(), target.Config{Align: align})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%v: %+.1f dB at 100 Hz, %+.1f dB at 6 kHz\n", align, d.Curve.Figure(100).Value, d.Curve.Figure(6000).Value)
	}
	// Output:
	// aligned for the least weighted square error: +0.9 dB at 100 Hz, +3.9 dB at 6 kHz
	// aligned over 300 Hz–3 kHz: +1.6 dB at 100 Hz, +4.7 dB at 6 kHz
}

// A target in a file states its rig.
func ExampleReadFile() {
	folder, err := os.MkdirTemp("", "target")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "gentle slope.txt")
	if err := os.WriteFile(path, []byte("# rig: flat plate\n20 4\n1000 0\n20000 -4\n"), 0o600); err != nil {
		fmt.Println(err)
		return
	}
	slope, err := target.ReadFile(path)
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := target.Compare(brightPair(), slope, target.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, on %s: %.2f dB rms\n", d.Target, slope.Curve.Rig, d.RMS.Value)
	// Output:
	// gentle slope, on flat plate: 1.84 dB rms
}
