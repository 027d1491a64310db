package programme_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// A voice has no energy at 50 Hz, where both recordings hum: the ratio of the two hums is no
// response. At 100 Hz, where it is louder than the hum, it gives one, and so does noise from 20 Hz
// on at 50 Hz.
func TestHumInBothRecordingsIsNoResponse(t *testing.T) {
	long.Skip(t)
	const fs = 16000
	random := rand.New(rand.NewPCG(3, 50))
	for _, c := range []struct {
		name  string
		low   float64 // Hz, from which on the material has energy
		hum   float64 // in the direct recording
		known bool    // at 50 Hz
	}{
		{"a voice", 150, 1e-5, false},
		{"noise", 20, 1e-5, true},
		{"noise below the hum of the direct recording", 20, 0.03, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			x := make([]float64, 20*fs)
			for i := range x { // syllables
				x[i] = 0.1 * random.NormFloat64() * math.Pow(math.Sin(2*math.Pi*1.3*float64(i)/fs), 2)
			}
			for range 5 { // 60 dB per octave
				biquad.Chain{biquad.New(biquad.HighPass, c.low, 0.7, 0, fs)}.Apply(x)
			}
			pair := biquad.New(biquad.Peaking, 60, 1, -9, fs)
			y := append([]float64(nil), x...)
			biquad.Chain{pair}.Apply(y)
			hums := func(x []float64, level, phase float64) programme.Channel {
				for i := range x {
					x[i] += level*math.Sin(2*math.Pi*50*float64(i)/fs+phase) + 1e-6*random.NormFloat64()
				}
				return programme.Channel{Name: "a.wav", SampleRate: fs, Samples: x}
			}
			compared, err := programme.Compare(hums(x, c.hum, 0), hums(y, 2e-5, 1), programme.Config{Band: response.Band{High: 2000}})
			require.NoError(t, err)
			truth := compared.Response()
			for i, f := range truth.Frequency {
				h := pair.Response(f, fs)
				truth.Level[i] = 10 * math.Log10(real(h)*real(h)+imag(h)*imag(h))
			}
			bands := 0
			for _, b := range compared.Bands(3) {
				if b.Nominal == 50 {
					assert.Equal(t, c.known, b.Known, "%+.1f dB", b.Difference)
				}
				if b.Known {
					bands++
				}
			}
			assert.Greater(t, bands, 8, "third octaves that the material gives")
			agreement, err := compared.Agreement(truth)
			require.NoError(t, err)
			assert.True(t, agreement.Agree, agreement.Sentence)
		})
	}
}
