package level

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"strings"

	"example.com/earnest/internal/columns"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/regular"
	"example.com/earnest/response"
)

// Calibration is the calibration of one microphone by its maker or a laboratory: its response, the
// number of dB by which it reads too high at each frequency. It is subtracted from a measurement:
//
//	true level = level read − Response
//
// A file of corrections, which are to be added, has the opposite sign. ReadCalibration reports it
// if it suspects one, and Inverted changes the sign.
type Calibration struct {
	// Response is the number of dB by which the microphone reads too high. It is valid between the
	// first and the last point of the file.
	Response response.Curve
	// Phase is that of the microphone in radians at the frequencies of Response; nil if the file
	// has none.
	Phase []float64
	// Sensitivity is the line of the file that states the sensitivity, as written. It is a note
	// only: the relation to dB SPL comes from a calibrator.
	Sensitivity string
	// SignSuspected reports that the shape is more like that of a correction than of a microphone;
	// Findings has the reason.
	SignSuspected bool
	// Findings are remarks for the reader of the report: what is lost, missing or suspicious.
	Findings []response.Finding
}

// largestCalibration bounds the text that is read, in bytes: a thousand times the length of a file
// with 48 points per octave.
const largestCalibration = 16 << 20

// lowestEnd is the frequency in Hz that the calibration of a microphone reaches at least.
const lowestEnd = 100

// ReadCalibrationFile reads the calibration of a microphone from a file; see ReadCalibration.
func ReadCalibrationFile(path string) (Calibration, error) {
	f, _, err := regular.Open(path)
	if err != nil {
		return Calibration{}, fmt.Errorf("level: %w", err)
	}
	defer f.Close()
	return ReadCalibration(f, path)
}

// ReadCalibration reads the calibration of a microphone from text as response.ReadCurveWithPhase
// does: a frequency in Hz and the response in dB on each line, by ascending frequency, separated by
// commas, tabs, semicolons or blanks. A third column is the phase in degrees, unless a comment
// names it the standard uncertainty. A line that states the sensitivity is kept as a note, whether
// it is a comment or not.
//
// Text that cannot be read, such as a word among the numbers or a frequency that does not ascend,
// is an error that names the line. Frequencies that end below 100 Hz are an error too: they are in
// kHz.
func ReadCalibration(r io.Reader, name string) (Calibration, error) {
	text, err := io.ReadAll(io.LimitReader(r, largestCalibration+1))
	if err != nil {
		return Calibration{}, fmt.Errorf("level: %s: %w", name, err)
	}
	if len(text) > largestCalibration {
		return Calibration{}, fmt.Errorf("level: %s: more than %d MiB of text; a calibration is a few hundred lines",
			name, largestCalibration>>20)
	}
	lines, note := noteSensitivity(text)
	curve, phase, err := response.ReadCurveWithPhase(strings.NewReader(strings.Join(lines, "\n")), name)
	if err != nil {
		return Calibration{}, fmt.Errorf("level: calibration of the microphone: %w", err)
	}
	if last := curve.Frequency[len(curve.Frequency)-1]; last < lowestEnd {
		return Calibration{}, fmt.Errorf("level: calibration of the microphone: %s: its frequencies end at %s; "+
			"write them in Hz, not in kHz", name, response.FormatFrequency(last))
	}
	curve.Rig = "" // a microphone belongs to no rig
	c := Calibration{Response: curve, Phase: phase, Sensitivity: note}
	c.judge()
	return c, nil
}

// inverted returns the calibration with the opposite sign, for a file of corrections to be added.
func (c Calibration) inverted() Calibration {
	out := Calibration{Sensitivity: c.Sensitivity, Response: c.Response.Offset(0)}
	for i, v := range out.Response.Level {
		out.Response.Level[i] = -v
	}
	if c.Phase != nil {
		out.Phase = make([]float64, len(c.Phase))
		for i, v := range c.Phase {
			out.Phase[i] = -v
		}
	}
	out.judge()
	return out
}

// Correct subtracts the microphone's response from a curve measured with it. The result is known
// where both are known, so the range of the calibration limits it. Its uncertainty is known only if
// both have one.
func (c Calibration) Correct(measured response.Curve) (response.Curve, error) {
	out, err := measured.Sub(c.Response)
	if err != nil {
		return response.Curve{}, fmt.Errorf("level: calibration of the microphone: %w", err)
	}
	return out, nil
}

// Correction returns the level in dB to be added to a reading at each frequency: minus the
// response, in the form that Meter takes.
func (c Calibration) Correction() *response.Curve {
	correction := c.inverted().Response
	return &correction
}

// CorrectTransfer divides a transfer function by that of the microphone, including its phase if the
// file has one, and limits the valid band to that of the calibration.
func (c Calibration) CorrectTransfer(measured *response.Transfer) *response.Transfer {
	out := *measured
	out.Valid = measured.Valid.Intersect(c.Response.Valid)
	out.Bins = make([]complex128, len(measured.Bins))
	phase := c.Response
	phase.Level = c.Phase
	for k, h := range measured.Bins {
		f := measured.Frequency(k)
		size, angle := c.Response.At(f), 0.0
		if c.Phase != nil {
			angle = phase.At(f)
		}
		if math.IsNaN(size) || math.IsNaN(angle) {
			out.Bins[k] = cmplx.NaN()
			continue
		}
		out.Bins[k] = h / cmplx.Rect(decibel.Amplitude(size), angle)
	}
	return &out
}

// noteSensitivity splits text into lines. It turns lines that state the sensitivity into comments,
// so that the numbers of the lines do not change, and returns the first as a note.
func noteSensitivity(text []byte) (lines []string, note string) {
	text = bytes.TrimPrefix(text, []byte("\ufeff")) // byte order mark
	lines = strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(text)), "\n")
	for i, line := range lines {
		words := strings.TrimLeft(line, "#;*/\"' \t")
		if !strings.Contains(strings.ToLower(words), "sens") || !strings.ContainsAny(words, "0123456789") {
			continue
		}
		if note == "" {
			note = strings.TrimRight(words, "\"' \t,;")
		}
		first := strings.TrimSpace(line)
		if _, is := columns.Comment(first); !is {
			lines[i] = "# " + first
		}
	}
	return lines, note
}
