package review

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// TestASharedReturnIsToldFromLeak: two drivers that return through one lead, solved as a circuit, and a
// leak through the air that comes later.
func TestASharedReturnIsToldFromLeak(t *testing.T) {
	race.Skip(t)
	const lead, air = 0.12, 3e-4 // Ω; s
	z := &level.Impedance{Valid: response.AllFrequencies, PhaseKnown: true}
	driver := func(f float64) complex128 { // a coil, and a resonance at 90 Hz
		x := f/90 - 90/f
		return complex(30, 2*math.Pi*f*2e-4) + 25/complex(1, 2*x)
	}
	for _, f := range response.LogGrid(10, 24000, 48) {
		z.Frequency, z.Ohms = append(z.Frequency, f), append(z.Ohms, driver(f))
	}
	random := rand.New(rand.NewPCG(7, 8))
	for _, leak := range []float64{0, 1e-3} {
		h := &response.Transfer{SampleRate: 48000, Len: 1 << 14, Valid: response.AllFrequencies}
		for k := range h.Len/2 + 1 {
			f := max(h.Frequency(k), 1)
			// The driver that does not play hangs between the shared node and an amplifier that holds 0 V.
			own, other := driver(f), driver(f)
			node := 1 / own / (1/own + 1/other + complex(1/lead, 0))
			across := -node / (1 - node) // re the voltage across the driver that plays
			noise := 2e-6 * complex(random.NormFloat64(), random.NormFloat64())
			h.Bins = append(h.Bins, across+complex(leak, 0)*cmplx.Rect(1, -2*math.Pi*f*air)+noise)
		}
		c := &Crosstalk{ratio: h}
		for _, f := range response.LogGrid(20, 20000, PerOctave) {
			c.Level.Frequency = append(c.Level.Frequency, f)
			c.Level.Level = append(c.Level.Level, 20*math.Log10(cmplx.Abs(h.At(f))))
		}
		s := &Side{Seatings: []*Reading{{Further: &Further{Crosstalk: c}}}}
		g := (&Results{Impedance: z}).CommonGround(s)
		require.NotNil(t, g)
		low, high := g.Resistance.Interval(0.99)
		assert.Less(t, low, lead*1.005, "0.5 %: the other driver's own current is left out")
		assert.Greater(t, high, lead*0.995)
		if leak > 0 {
			assert.InDelta(t, -60, g.Leak.At(3000), 3) // dB; what is unsure of the lead, 0.007 Ω of 40, along it
		}
		assert.Nil(t, (&Results{}).CommonGround(s), "the impedance was not measured")
	}
}
