//go:build !race

package loudness

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response/capture"
)

// tones returns a 1 kHz sine at each level in dBFS in turn, each of the same length in seconds.
func tones(rate int, parts ...[2]float64) []float64 {
	var x []float64
	for _, part := range parts {
		for range int(part[1] * float64(rate)) {
			x = append(x, math.Pow(10, part[0]/20)*math.Sin(2*math.Pi*1000*float64(len(x))/float64(rate)))
		}
	}
	return x
}

// The minimum requirements of EBU Tech 3341 (from memory): stereo tones of 1 kHz, within 0.1 LU.
func TestLoudnessOfTonesEBUTech3341(t *testing.T) {
	long.Skip(t)
	for _, row := range []struct {
		name  string
		parts [][2]float64 // level in dBFS, seconds
		want  float64      // LUFS
	}{
		{"1", [][2]float64{{-23, 20}}, -23},
		{"2", [][2]float64{{-33, 20}}, -33},
		{"3", [][2]float64{{-36, 10}, {-23, 60}, {-36, 10}}, -23},
		{"4", [][2]float64{{-72, 10}, {-36, 10}, {-23, 60}, {-36, 10}, {-72, 10}}, -23},
		{"5", [][2]float64{{-26, 20}, {-20, 20.1}, {-26, 20}}, -23},
	} {
		for _, rate := range []int{48000, 44100, 96000} {
			if rate != 48000 && row.name != "5" {
				continue // one case is enough for the weighting at another rate
			}
			x := tones(rate, row.parts...)
			got, err := Measure([][]float64{x, x}, rate)
			require.NoError(t, err)
			assert.InDelta(t, row.want, got.Integrated, 0.1, "case %s at %d Hz: the tolerance of EBU Tech 3341", row.name, rate)
		}
	}
}

// The minimum requirements of EBU Tech 3342 (from memory): stereo tones of 1 kHz, within 1 LU.
func TestLoudnessRangeOfTonesEBUTech3342(t *testing.T) {
	long.Skip(t)
	for _, row := range []struct {
		parts [][2]float64
		want  float64 // LU
	}{
		{[][2]float64{{-20, 20}, {-30, 20}}, 10},
		{[][2]float64{{-20, 20}, {-15, 20}}, 5},
		{[][2]float64{{-40, 20}, {-20, 20}}, 20},
		{[][2]float64{{-50, 20}, {-35, 20}, {-20, 20}, {-35, 20}, {-50, 20}}, 15},
	} {
		x := tones(48000, row.parts...)
		got, err := Measure([][]float64{x, x}, 48000)
		require.NoError(t, err)
		assert.InDelta(t, row.want, got.Range, 1, "the tolerance of EBU Tech 3342")
	}
}

// A full-scale sine of 997 Hz in one channel is −3.01 LUFS (BS.1770, Annex 1).
func TestFullScaleSineITUBS1770(t *testing.T) {
	x := make([]float64, 10*48000)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 997 * float64(i) / 48000)
	}
	got, err := Measure([][]float64{x, make([]float64, len(x))}, 48000)
	require.NoError(t, err)
	assert.InDelta(t, -3.01, got.Integrated, 0.005, "half of the last digit that the standard prints")
	assert.InDelta(t, -3.01, got.MaxMomentary, 0.02, "the first blocks hold the filter's start")
	assert.InDelta(t, -3.01, got.MaxShortTerm, 0.02, "the first blocks hold the filter's start")
}

// The coefficients of BS.1770 at 48 kHz (from memory).
func TestWeightingAt48kHzITUBS1770(t *testing.T) {
	w := newWeighting(48000)
	want := []float64{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585, -1.99004745483398, 0.99007225036621}
	got := []float64{w.shelf.b0, w.shelf.b1, w.shelf.b2, w.shelf.a1, w.shelf.a2, w.highPass.a1, w.highPass.a2}
	for i := range want {
		assert.InDelta(t, want[i], got[i], 1e-11, "the standard prints 14 decimals, the constants here have 13 digits")
	}
}

// A sine of a quarter of the rate has its peaks between the samples where its phase is 45 degrees.
func TestTruePeakBetweenSamples(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000, 192000, 384000} {
		x := make([]float64, rate)
		for i := range x {
			x[i] = 0.5 * math.Sin(2*math.Pi*(float64(i)/4+1./8)) * math.Sin(math.Pi*float64(i)/float64(len(x)))
		}
		got, err := Measure([][]float64{x}, rate)
		require.NoError(t, err)
		if rate < 192000 {
			assert.InDelta(t, -6.02, got.TruePeak, 0.05, "the interpolation's error up to 0.45 of the rate")
		} else {
			assert.InDelta(t, -9.03, got.TruePeak, 0.05, "not oversampled: the samples are 3.01 dB below the peak")
		}
	}
}

func TestNotKnown(t *testing.T) {
	quiet, err := Measure([][]float64{make([]float64, 5*48000)}, 48000)
	require.NoError(t, err)
	for _, v := range []float64{quiet.Integrated, quiet.MaxMomentary, quiet.MaxShortTerm, quiet.Range, quiet.TruePeak} {
		assert.True(t, math.IsNaN(v), "digital silence")
	}
	short, err := Measure([][]float64{tones(48000, [2]float64{-20, 0.39})}, 48000)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(short.Integrated) && math.IsNaN(short.MaxMomentary) && math.IsNaN(short.Range))
	assert.InDelta(t, -20, short.TruePeak, 0.05, "the interpolation's error")
}

func TestMeasureRefusesBadInput(t *testing.T) {
	second := make([]float64, 48000)
	for name, row := range map[string]struct {
		channels [][]float64
		rate     int
	}{
		"no channel":     {nil, 48000},
		"three channels": {[][]float64{second, second, second}, 48000},
		"unequal":        {[][]float64{second, second[1:]}, 48000},
		"rate":           {[][]float64{second}, 0},
		"not a number":   {[][]float64{{0, math.NaN()}}, 48000},
		"infinite":       {[][]float64{{0, math.Inf(-1)}}, 48000},
	} {
		_, err := Measure(row.channels, row.rate)
		assert.ErrorIs(t, err, ErrInput, name)
	}
}

// piece is a piece of music or speech to measure.
type piece struct {
	name     string
	channels [][]float64
	rate     int
}

// recorded are pieces of speech and music that a module keeps for its tests; none where there is no
// module cache.
func recorded(t *testing.T) (all []piece) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/mewkiz/flac").Output()
	if err != nil {
		t.Log("no module cache here: ", err)
		return nil
	}
	for _, name := range []string{"8297-275156-0011.flac", "257344.flac", "220014.flac", "212768.flac", "256529.flac", "191885.flac"} {
		recording, err := capture.Read(filepath.Join(strings.TrimSpace(string(out)), "testdata", name))
		if err != nil {
			t.Logf("%s is not here: %v", name, err)
			continue
		}
		channels := recording.Channels[:min(2, len(recording.Channels))]
		for k, x := range channels {
			channels[k] = slices.Repeat(x, 1+30*recording.SampleRate/len(x)) // so long that a block more or less does not count
		}
		all = append(all, piece{name, channels, recording.SampleRate})
	}
	return all
}

// interleaved returns the samples of all channels, interleaved.
func interleaved(channels [][]float64) []float64 {
	samples := make([]float64, 0, len(channels)*len(channels[0]))
	for i := range channels[0] {
		for _, x := range channels {
			samples = append(samples, x[i])
		}
	}
	return samples
}

// Recorded speech and music, against ffmpeg's ebur128, an independent implementation.
func TestRecordedProgrammesAgainstFFmpeg(t *testing.T) {
	long.Skip(t)
	ffmpeg := programs.Need(t, "ffmpeg")
	for _, p := range recorded(t) {
		compare(t, ffmpeg, p.name, p.channels, p.rate)
	}
	// A programme with pauses and levels of its own, so that both gates matter.
	x := tones(48000, [2]float64{-45, 6}, [2]float64{-18, 9}, [2]float64{-80, 5}, [2]float64{-27, 12})
	compare(t, ffmpeg, "tones with a pause", [][]float64{x, x}, 48000)
}

func compare(t *testing.T, ffmpeg, name string, channels [][]float64, rate int) {
	got, err := Measure(channels, rate)
	require.NoError(t, err)
	raw := new(bytes.Buffer)
	require.NoError(t, binary.Write(raw, binary.LittleEndian, interleaved(channels)))
	layout := map[int]string{1: "mono", 2: "stereo"}[len(channels)]
	command := exec.Command(ffmpeg, "-hide_banner", "-nostats", "-f", "f64le", "-ar", fmt.Sprint(rate), "-ac", fmt.Sprint(len(channels)), "-channel_layout", layout,
		"-i", "-", "-filter_complex", "ebur128=peak=true:framelog=verbose", "-f", "null", "-")
	command.Stdin = io.Reader(raw)
	said, err := command.CombinedOutput()
	require.NoError(t, err, string(said))
	for _, value := range []struct {
		label     string
		got       float64
		tolerance float64
		why       string
	}{
		{"I:", got.Integrated, 0.1, "ffmpeg prints one decimal, and resamples to 48 kHz"},
		{"LRA:", got.Range, 0.3, "ffmpeg takes the percentile of a histogram; EBU Tech 3342 allows 1 LU"},
		{"Peak:", got.TruePeak, 0.15, "ffmpeg prints one decimal; another interpolation"},
	} {
		found := regexp.MustCompile(regexp.QuoteMeta(value.label)+` +(-?[\d.]+)`).FindAllStringSubmatch(string(said), -1)
		require.NotEmpty(t, found, string(said))
		want, err := strconv.ParseFloat(found[len(found)-1][1], 64)
		require.NoError(t, err)
		t.Logf("%s %s here %.2f, ffmpeg %.1f", name, value.label, value.got, want)
		assert.InDelta(t, want, value.got, value.tolerance, "%s, %s %s", name, value.label, value.why)
	}
}

func BenchmarkMeasure(b *testing.B) {
	x := tones(48000, [2]float64{-20, 60})
	for b.Loop() {
		if _, err := Measure([][]float64{x, x}, 48000); err != nil {
			b.Fatal(err)
		}
	}
}
