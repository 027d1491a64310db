package capture_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/response/capture"
)

// BenchmarkRead reads stereo files into memory that the program has not used before, as for its
// first file. That costs more than memory in use, which BenchmarkReadAgain has. MB/s count the
// sound in its own bits, 6 bytes for two samples of 24 bits; beside them stand the MB/s of the
// float64 delivered and of the file.
//
// Recorded music and noise are the two extremes for FLAC, which compresses the first to about half
// and the second hardly.
func BenchmarkRead(b *testing.B) { benchmarkFiles(b, debug.FreeOSMemory) }

func BenchmarkReadAgain(b *testing.B) { benchmarkFiles(b, func() {}) }

func benchmarkFiles(b *testing.B, before func()) {
	if _, err := exec.LookPath("sox"); err != nil {
		b.Skip("sox is not installed")
	}
	folder := b.TempDir()
	for _, material := range []string{"music", "noise"} {
		for _, rate := range []string{"48000", "96000"} {
			for _, f := range []struct {
				name, kind string
				format     []string
				bytes      int64 // per sample
			}{
				{"16-bit FLAC", "flac", []string{"-b", "16"}, 2},
				{"24-bit FLAC", "flac", []string{"-b", "24"}, 3},
				{"16-bit WAV", "wav", []string{"-b", "16"}, 2},
				{"24-bit WAV", "wav", []string{"-b", "24"}, 3},
				{"32-bit float WAV", "wav", []string{"-b", "32", "-e", "floating-point"}, 4},
			} {
				b.Run(fmt.Sprintf("%s/%s/%s Hz", f.name, material, rate), func(b *testing.B) {
					path := filepath.Join(folder, "sound."+f.kind)
					make2Channels(b, path, material, rate, f.format)
					benchmarkRead(b, path, f.bytes, before)
				})
			}
		}
	}
}

// make2Channels makes a file of about a minute.
func make2Channels(b *testing.B, path, material, rate string, format []string) {
	args := append([]string{"-G", "-D", "-R", "-r", rate, "-n", "-c", "2"}, format...)
	args = append(args, path, "synth", "60", "pinknoise", "pinknoise", "gain", "-6")
	if material == "music" {
		args = append([]string{"-G", "-D", recordedMusic(b), "-r", rate}, format...)
		args = append(args, path, "gain", "-3", "repeat", "4")
	}
	out, err := exec.Command("sox", args...).CombinedOutput()
	require.NoError(b, err, string(out))
}

// recordedMusic returns the path of a stereo recording of 11 s among the published test data of the
// FLAC library.
func recordedMusic(b *testing.B) string {
	folder, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/mewkiz/flac").Output()
	if err != nil {
		b.Skip("the source of github.com/mewkiz/flac is not at hand")
	}
	return filepath.Join(strings.TrimSpace(string(folder)), "testdata", "256529.flac")
}

func benchmarkRead(b *testing.B, path string, width int64, before func()) {
	about, err := os.Stat(path)
	require.NoError(b, err)
	r, err := capture.Read(path)
	require.NoError(b, err)
	samples := int64(len(r.Channels) * r.Len())
	r = nil
	b.SetBytes(width * samples)
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		before()
		b.StartTimer()
		if _, err := capture.Read(path); err != nil {
			b.Fatal(err)
		}
	}
	perSecond := float64(b.N) / b.Elapsed().Seconds() / 1e6
	b.ReportMetric(float64(8*samples)*perSecond, "float64-MB/s")
	b.ReportMetric(float64(about.Size())*perSecond, "file-MB/s")
}
