package programme_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/mewkiz/flac"
	"github.com/stretchr/testify/require"
)

// recorded reads the first channel of a test file of the module github.com/mewkiz/flac, from the
// module cache. It skips the test if there is none. Speech: 8297-275156-0011.flac, read English,
// 5.2 s at 16 kHz (LibriSpeech, CC BY 4.0). Music: 257344.flac, 10 s at 32 kHz (public domain).
func recorded(t testing.TB, name string) (x []float64, sampleRate int) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/mewkiz/flac").Output()
	if err != nil {
		t.Skip("no module cache here: ", err)
	}
	stream, err := flac.ParseFile(filepath.Join(strings.TrimSpace(string(out)), "testdata", name))
	if err != nil {
		t.Skip("the recording is not here: ", err)
	}
	defer stream.Close()
	scale := math.Exp2(-float64(stream.Info.BitsPerSample - 1))
	for {
		frame, err := stream.ParseNext()
		if err != nil {
			break
		}
		for _, v := range frame.Subframes[0].Samples[:frame.Subframes[0].NSamples] {
			x = append(x, scale*float64(v))
		}
	}
	require.NotEmpty(t, x)
	return x, int(stream.Info.SampleRate)
}

// sox applies sox effects to x: a device that does not come from this project. It skips the test
// without sox.
func sox(t testing.TB, x []float64, sampleRate int, effects ...string) []float64 {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("sox is not here")
	}
	raw := []string{"-t", "raw", "-e", "floating-point", "-b", "64", "-c", "1", "-r", fmt.Sprint(sampleRate)}
	args := append(append(append([]string{"-D", "-V1"}, raw...), "-"), append(append([]string{}, raw...), "-")...)
	command := exec.Command("sox", append(args, effects...)...)
	command.Stdin = bytes.NewReader(float64Bytes(x))
	command.Stderr = os.Stderr
	out, err := command.Output()
	require.NoError(t, err)
	y := make([]float64, len(out)/8)
	for i := range y {
		y[i] = math.Float64frombits(binary.LittleEndian.Uint64(out[8*i:]))
	}
	return y
}

func float64Bytes(x []float64) []byte {
	b := make([]byte, 8*len(x))
	for i, v := range x {
		binary.LittleEndian.PutUint64(b[8*i:], math.Float64bits(v))
	}
	return b
}
