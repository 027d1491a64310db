package speed

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/flac"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// made returns the folder of a demonstration: the one named in EARNEST_SPEED_DEMO, which review.sh
// makes, or else a new one.
var made = sync.OnceValues(func() (string, error) {
	folder := os.Getenv("EARNEST_SPEED_DEMO")
	if folder == "" {
		var err error
		if folder, err = os.MkdirTemp("", "speed"); err != nil {
			return "", err
		}
	}
	if err := demo.Write(folder, demo.Options{}, func(string) {}); err != nil && !errors.Is(err, os.ErrExist) {
		return "", err
	}
	return folder, nil
})

// spent returns the processor time of this process in seconds, over all processors, and its peak
// memory in MB (Linux counts in KiB).
func spent() (seconds, peak float64) {
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		panic(err)
	}
	return float64(usage.Utime.Nano()+usage.Stime.Nano()) / 1e9, float64(usage.Maxrss) * 1024 / 1e6
}

// each runs a benchmark, and reports the seconds of all processors and the peak of memory.
func each(b *testing.B, do func() error) {
	defer debug.SetGCPercent(debug.SetGCPercent(10)) // as session.SpareMemory has it
	b.ReportAllocs()
	before, _ := spent()
	for b.Loop() {
		require.NoError(b, do())
	}
	after, peak := spent()
	b.ReportMetric((after-before)/float64(b.N), "cpu-s/op")
	b.ReportMetric(peak, "peak-MB")
}

// BenchmarkBare times the bare analysis of the takes of a demonstration, which review.sh takes as
// the measure of a review: each of the 24 sides of 12 recordings is deconvolved, windowed,
// smoothed, and its harmonics are read, once. Reading and locating are left out.
func BenchmarkBare(b *testing.B) {
	folder, err := made()
	require.NoError(b, err)
	sw, err := sweep.New(sweep.Config{Duration: 6 * time.Second, Level: -12})
	require.NoError(b, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: sw})
	require.NoError(b, err)
	var takes [][]float64
	for _, pair := range []string{".", "tarrowby", "ollerthwaite"} {
		for _, name := range []string{"direct.wav", "seating-1.wav", "seating-2.wav", "seating-3.wav"} {
			r, err := capture.Read(filepath.Join(folder, pair, name))
			require.NoError(b, err)
			p, err := placement.Locate(r, st)
			require.NoError(b, err)
			for channel, side := range []sweep.Side{sweep.Left, sweep.Right} {
				take, err := p.Take(channel+1, side)
				require.NoError(b, err)
				takes = append(takes, take.Sweeps[0])
			}
		}
	}
	grid := response.LogGrid(20, 20000, 48)
	d, err := response.NewDeconvolver(sw, response.DeconvolverConfig{Longest: placement.TakeDuration(st), Orders: 8})
	require.NoError(b, err)
	each(b, func() error {
		for _, x := range takes {
			parts, err := d.Separate(x)
			if err != nil {
				return err
			}
			window, err := parts.Linear.Window(0, 0)
			if err != nil {
				return err
			}
			if _, err := window.Transfer().Smoothed(grid, 12); err != nil {
				return err
			}
			if _, err := distortion.Harmonics(parts, distortion.Config{}); err != nil {
				return err
			}
		}
		return nil
	})
}

// BenchmarkReview times the whole review of the demonstration with everything that it writes, with
// its rivals measured again and with their kept results.
func BenchmarkReview(b *testing.B) {
	folder, err := made()
	require.NoError(b, err)
	for _, kept := range []bool{false, true} {
		b.Run(map[bool]string{false: "anew", true: "kept"}[kept], func(b *testing.B) {
			to := b.TempDir()
			review := func() error {
				for _, pair := range []string{"tarrowby", "ollerthwaite"} {
					if !kept {
						os.Remove(filepath.Join(folder, pair, "session.toml.measured"))
					}
				}
				s, err := session.Read(folder)
				if err != nil {
					return err
				}
				results, err := s.Review(nil)
				if err != nil {
					return err
				}
				return report.Write(to, results, true)
			}
			if kept {
				require.NoError(b, review())
			}
			each(b, review)
		})
	}
}

// like is a session that can take over another's direct recording, which those of earlier commits
// cannot.
type like interface{ Like(*session.Session) }

// BenchmarkPipelineSession is one line of the pipeline after the first: the direct recording of the
// session before, and the three seatings of the rivals.
func BenchmarkPipelineSession(b *testing.B) {
	folder, err := made()
	require.NoError(b, err)
	defer debug.SetGCPercent(debug.SetGCPercent(10)) // the first session's peak counts too
	before, err := session.Read(filepath.Join(folder, "ollerthwaite"))
	require.NoError(b, err)
	_, err = before.Review(nil)
	require.NoError(b, err)
	each(b, func() error {
		s, err := session.Read(filepath.Join(folder, "tarrowby"))
		if err != nil {
			return err
		}
		if s, can := any(s).(like); can {
			s.Like(before)
		}
		results, err := s.Review(nil)
		if err != nil {
			return err
		}
		return report.WriteJSON(io.Discard, results)
	})
}

// BenchmarkStages are the stages of a review, one by one.
func BenchmarkStages(b *testing.B) {
	folder, err := made()
	require.NoError(b, err)
	file := filepath.Join(folder, "seating-1.wav")
	r, err := capture.Read(file)
	require.NoError(b, err)
	sw, err := sweep.New(sweep.Config{Duration: 6 * time.Second, Level: -12})
	require.NoError(b, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: sw})
	require.NoError(b, err)
	s, err := session.Read(filepath.Join(folder, "tarrowby"))
	require.NoError(b, err)
	results, err := s.Review(nil)
	require.NoError(b, err)
	for _, stage := range []struct {
		name string
		do   func() error
	}{
		{"locate", func() error { _, err := placement.Locate(r, st); return err }},
		{"response", func() error { _, err := s.ReviewResponse(nil); return err }},
		{"results", func() error { return report.WriteJSON(io.Discard, results) }},
		{"page", func() error { return report.Write(b.TempDir(), results, true) }},
	} {
		b.Run(stage.name, func(b *testing.B) { each(b, stage.do) })
	}
}

// BenchmarkFiles reads a recording as WAV and as FLAC of 24 bits: MB of its samples in a second.
func BenchmarkFiles(b *testing.B) {
	folder, err := made()
	require.NoError(b, err)
	r, err := capture.Read(filepath.Join(folder, "tune-through.wav"))
	require.NoError(b, err)
	for _, kind := range []string{"wav", "flac"} {
		b.Run(kind, func(b *testing.B) {
			file := filepath.Join(b.TempDir(), "a."+kind)
			if kind == "flac" {
				whole := make([][]int32, len(r.Channels))
				for k, x := range r.Channels {
					for _, v := range x {
						whole[k] = append(whole[k], int32(math.Round(v*(1<<23))))
					}
				}
				var out bytes.Buffer
				require.NoError(b, flac.Write(&out, r.SampleRate, whole, 24))
				require.NoError(b, os.WriteFile(file, out.Bytes(), 0o666))
			} else {
				require.NoError(b, capture.Write(file, r, capture.WriteConfig{}))
			}
			b.SetBytes(int64(3 * r.Len() * len(r.Channels)))
			each(b, func() error { _, err := capture.Read(file); return err })
		})
	}
}

// BenchmarkAnalysisProcessor is BenchmarkAnalysis in seconds of all processors.
func BenchmarkAnalysisProcessor(b *testing.B) {
	b.Run("48000Hz/6s", func(b *testing.B) {
		w := newWork(b, 48000, 6)
		require.NoError(b, w.analyse())
		each(b, w.analyse)
	})
}
