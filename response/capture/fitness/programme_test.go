package fitness_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
)

const programmeRate = 48000

// programme is simulated music or speech, as recorded by the interface and by the microphones.
func programme(seed uint64) map[string][][]float64 {
	h, _, r := rig.Demonstration()
	r.Seed = seed
	music, speech := rig.Music(programmeRate, 5, seed), rig.Speech(programmeRate, 5, seed)
	return map[string][][]float64{
		"music":                     music,
		"music, direct":             r.Direct(music),
		"music through headphones":  r.Through(h, 0, music),
		"speech, direct":            r.Direct(speech),
		"speech through headphones": r.Through(h, 0, speech),
	}
}

func TestNothingIsFoundInCleanMusicAndSpeech(t *testing.T) {
	long.Skip(t)
	for seed := range uint64(3) {
		for name, channels := range programme(seed) {
			t.Run(fmt.Sprint(name, " ", seed), func(t *testing.T) {
				t.Parallel()
				r := &capture.Recording{Name: name, SampleRate: programmeRate, Channels: channels}
				assert.Empty(t, inspected(r, said{SampleRate: programmeRate}).AtLeast(response.Warning))
			})
		}
	}
}

// Recorded music, speech and noises: the test data of github.com/mewkiz/flac, in the public domain
// or (speech) under CC BY 4.0, read from the module's own folder.
func TestRecordedSounds(t *testing.T) {
	race.Skip(t)
	folder, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/mewkiz/flac").Output()
	if err != nil {
		t.Skip("the source of github.com/mewkiz/flac is not at hand")
	}
	for name, kinds := range map[string][]response.FindingKind{
		"8297-275156-0011.flac": nil, // read speech
		"191885.flac":           nil,
		"19875.flac":            nil,
		"220014.flac":           nil,
		"256529.flac":           nil,
		"257344.flac":           nil,
		"59996.flac":            nil,
		"80574.flac":            nil,
		// Their faults can be seen in their samples.
		"44127.flac":  {fitness.Clipping, fitness.DCOffset, fitness.LowBitDepth}, // 8 bits
		"212768.flac": {fitness.FlatTops},                                        // clipped, then made softer by 0.2 dB
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, err := capture.Read(filepath.Join(strings.TrimSpace(string(folder)), "testdata", name))
			if err != nil {
				t.Skip(err)
			}
			report := inspected(r, said{})
			found := map[response.FindingKind]bool{}
			for _, f := range report.AtLeast(response.Warning) {
				found[f.Kind] = true
				assert.Contains(t, kinds, f.Kind, "%v", f)
			}
			for _, k := range kinds {
				assert.True(t, found[k], "%v", k)
			}
		})
	}
}

// Without a stimulus the criteria have less to go by, and the levels are higher.
func TestFaultsOfMusicAndSpeech(t *testing.T) {
	race.Skip(t)
	all := programme(7)
	for _, c := range []struct {
		name  string
		kind  response.FindingKind
		spoil func(channels [][]float64) [][]float64
	}{
		{"clipped by 3 dB", fitness.Clipping, func(x [][]float64) [][]float64 { return rig.Clip(x, 3-peakOf(x)) }},
		{"flat tops by 3 dB", fitness.FlatTops, func(x [][]float64) [][]float64 { return rig.FlatTop(x, peakOf(x)-3) }},
		{"peak of −45 dBFS", fitness.LowLevel, func(x [][]float64) [][]float64 { return rig.Quieten(x, 45+peakOf(x)) }},
		{"offset of 0.01", fitness.DCOffset, func(x [][]float64) [][]float64 { return rig.AddDC(x, 0.01) }},
		{"300 samples twice", fitness.RepeatedSamples, func(x [][]float64) [][]float64 { return rig.RepeatBlock(x, 100000, 300) }},
		{"clicks of 0 dBFS", fitness.Clicks, func(x [][]float64) [][]float64 { return rig.Click(x, 3, -1, 5) }},
		{"one side inverted, of the same sound", fitness.OppositePolarity, func(x [][]float64) [][]float64 {
			return rig.Invert([][]float64{x[0], mixed(x[0], x[1])}, rig.Right)
		}},
		{"one channel copied", fitness.CopiedChannel, func(x [][]float64) [][]float64 { return [][]float64{x[0], x[0]} }},
		{"one channel of zeros", fitness.SilentChannel, func(x [][]float64) [][]float64 { return [][]float64{x[0], make([]float64, len(x[0]))} }},
		{"one channel at another rate", fitness.WrongRate, func(x [][]float64) [][]float64 { return x }},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			for _, name := range []string{"music, direct", "speech, direct", "speech through headphones"} {
				r := &capture.Recording{Name: name, SampleRate: programmeRate, Channels: c.spoil(all[name])}
				o := said{SampleRate: programmeRate}
				if c.kind == fitness.WrongRate {
					r.SampleRate = 44100
				}
				report := inspected(r, o)
				found := report.Of(c.kind)
				require.NotEmpty(t, found, "%s: %v", name, report.Findings)
				assert.GreaterOrEqual(t, found[0].Severity, response.Warning)
			}
		})
	}
}

// Hum is found in pauses, and a cutoff in material with treble.
func TestHumInSpeechAndCutoffInMusic(t *testing.T) {
	race.Skip(t)
	all := programme(8)
	for _, mains := range []float64{50, 60} {
		r := &capture.Recording{Name: "speech", SampleRate: programmeRate,
			Channels: rig.AddHum(all["speech, direct"], rig.Hum{Frequency: mains, Level: -60, Harmonics: []float64{-6, -10}}, programmeRate)}
		found := inspected(r, said{}).Of(fitness.MainsHum)
		require.NotEmpty(t, found)
		assert.Equal(t, response.Warning, found[0].Severity)
		assert.Equal(t, mains, found[0].Figures["mains"].Value)
	}
	for cutoff, kind := range map[float64]response.FindingKind{10700: fitness.Resampled, 17500: fitness.LossyCodec} {
		r := &capture.Recording{Name: "music", SampleRate: programmeRate, Channels: rig.CutTreble(rig.Music(programmeRate, 5, 8), cutoff, programmeRate)}
		found := inspected(r, said{}).Of(kind)
		require.NotEmpty(t, found, "%v Hz", cutoff)
		assert.InEpsilon(t, cutoff, found[0].Figures["cutoff"].Value, 0.03, "bands of a twenty-fourth of an octave")
	}
}

func peakOf(channels [][]float64) float64 {
	top := 0.0
	for _, x := range channels {
		for _, v := range x {
			top = max(top, math.Abs(v))
		}
	}
	return 20 * math.Log10(top)
}

// mixed returns mostly a, with some b.
func mixed(a, b []float64) []float64 {
	y := make([]float64, len(a))
	for i, v := range a {
		y[i] = 0.9*v + 0.1*b[i]
	}
	return y
}

// A drum whose tone begins at once has a kink there, and a note that is cut off a step; neither is a
// click. Three samples that are wrong beside them are one.
func TestOnsetsAreNoClicks(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 3))
	x := make([]float64, 3*programmeRate)
	for i := range x {
		at := float64(i) / programmeRate
		x[i] = 0.02*math.Sin(2*math.Pi*220*at) + 0.01*math.Sin(2*math.Pi*587*at+1) + 1e-5*random.NormFloat64()
		if drum := at - 1.1; drum > 0 {
			x[i] += 0.3 * math.Sin(2*math.Pi*90*drum) * math.Exp(-8*drum)
		}
		if at > 2.5 {
			x[i] *= 1e-3
		}
	}
	inspect := func(x []float64) *fitness.Report {
		return inspected(&capture.Recording{Name: "piece.wav", SampleRate: programmeRate, Channels: [][]float64{x}}, said{})
	}
	assert.Empty(t, inspect(x).Of(fitness.Clicks))
	for i := range 3 {
		x[int(1.8*programmeRate)+i] += 0.03
	}
	found := inspect(x).Of(fitness.Clicks)
	require.Len(t, found, 1)
	assert.InDelta(t, 1.8, found[0].Time, 1e-3, "s")
}
