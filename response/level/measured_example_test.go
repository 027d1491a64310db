package level_test

import (
	"fmt"
	"os"
	"path/filepath"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// The sound that a person beside the wearer hears: noise of 40 dB SPL, 40 dB above the room.
func ExampleMeasureSoundLeakage() {
	spill, err := level.MeasureSoundLeakage(level.SoundLeakageRecordings{
		SampleRate:  rate,
		Sensitivity: level.Sensitivity{FullScale: response.Figure{Value: 120, Uncertainty: 0.3, Unit: level.SoundPressure}, Frequency: 1000},
		Distance:    response.Figure{Value: 0.5, Uncertainty: 0.01, Unit: level.Metre},
		Beside:      noise(1, 1e-4, 10),
		Background:  noise(2, 1e-6, 10),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f dB SPL in the third octave at 1 kHz, %.0f dB(A) over all bands\n", spill.Curve.At(1000), spill.A.Value)
	// Output:
	// 19.9 dB SPL in the third octave at 1 kHz, 36 dB(A) over all bands
}

// The calibration of a microphone comes in a file; an error names the line with a misplaced comma.
func ExampleReadCalibrationFile() {
	folder, err := os.MkdirTemp("", "microphone")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "microphone.txt")
	if err := os.WriteFile(path, []byte("# Hz, dB\n20 -0.5\n1000 0.0\n20000 1.5\n"), 0o600); err != nil {
		fmt.Println(err)
		return
	}
	microphone, err := level.ReadCalibrationFile(path)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("reads %.2f dB too high at 20 kHz, known over %v\n", microphone.Response.At(20000), microphone.Response.Valid)
	// Output: reads 1.50 dB too high at 20 kHz, known over 20 Hz–20 kHz
}
