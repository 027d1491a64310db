package review

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// TestASharedReturnIsSeparatedFromLeakage: two drivers that return through one lead, solved as a circuit,
// and a leak through the air that comes later.
func TestASharedReturnIsSeparatedFromLeakage(t *testing.T) {
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
			// The driver that does not play hangs between the shared node and an amplifier that
			// holds 0 V.
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
			assert.InDelta(t, -60, g.Leak.At(3000), 4) // dB; the uncertainty of the lead, 0.012 Ω of 40, along it
		}
		assert.Nil(t, (&Results{}).CommonGround(s), "the impedance was not measured")
	}
}

// The interface's own crosstalk, 12 dB below that of the pair, adds to it with a phase that is not
// known, and with the same one in every seating.
func TestTheInterfaceMakesCrosstalkUnsure(t *testing.T) {
	level := func(dB float64) response.Curve {
		c := response.Curve{Frequency: response.LogGrid(20, 20000, PerOctave), Valid: response.AllFrequencies}
		for range c.Frequency {
			c.Level = append(c.Level, dB)
		}
		return c
	}
	direct := &Further{Crosstalk: &Crosstalk{Level: level(-62), Floor: level(-100)}}
	s := &Side{}
	for range 3 {
		c := &Crosstalk{Level: level(-50), Floor: level(-100)}
		c.against(direct, sweep.Left)
		s.Seatings = append(s.Seatings, &Reading{Further: &Further{Crosstalk: c}})
	}
	var square float64
	for phase := range 360 {
		square += math.Pow(20*math.Log10(cmplx.Abs(1+cmplx.Rect(math.Pow(10, -12./20), float64(phase)*math.Pi/180))), 2) / 360
	}
	const higherPowers = 0.03 // of the ratio, which the standard uncertainty leaves out
	for _, f := range []float64{30, 1000, 15000} {
		assert.InEpsilon(t, math.Sqrt(square), s.Seatings[0].Further.Crosstalk.At(f).Uncertainty, higherPowers)
		assert.InEpsilon(t, math.Sqrt(square), s.crosstalk().At(f).Uncertainty, higherPowers, "the mean of three seatings")
	}
}

// TestIntervalsOfCrosstalkHoldTheTruth draws recordings of a wire that lets a known part of the
// other side through, in noise, and of several seatings whose leak differs: 95 % intervals hold the
// truth in 93 to 97 %.
func TestIntervalsOfCrosstalkHoldTheTruth(t *testing.T) {
	long.Skip(t)
	race.Skip(t)
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 500 * time.Millisecond,
		Asks: []sweep.Question{sweep.AskCrosstalk}})
	require.NoError(t, err)
	random := rand.New(rand.NewPCG(17, 22))
	x := st.Channels()
	record := func(leak float64) *capture.Recording {
		out := [][]float64{make([]float64, len(x[0])), make([]float64, len(x[0]))}
		for k := range out {
			for i := range out[k] {
				out[k][i] = 0.5*(x[k][i]+leak*x[1-k][i]) + 5e-4*random.NormFloat64()
			}
		}
		return &capture.Recording{Name: "drawn.wav", SampleRate: 48000, Format: capture.Format{Bits: 24}, Channels: out}
	}
	b, err := New(Config{Stimulus: st})
	require.NoError(t, err)
	_, err = b.Direct(Both(record(0)))
	require.NoError(t, err)
	measure := func(leak float64) (all []*Crosstalk) {
		r := newRecordings(st, &fitness.Set{})
		uses, _ := r.uses(Both(record(leak)), 1, "seating")
		for _, u := range uses {
			placed, err := placement.Locate(u.recording, st)
			require.NoError(t, err)
			take, err := placed.Take(u.channel, u.side)
			require.NoError(t, err)
			c, err := b.askCrosstalk(u, take.Silence)
			require.NoError(t, err)
			for i, f := range c.Floor.Frequency {
				if !(c.Level.At(f) >= c.Floor.Level[i]+clearOfFloor) {
					c.Level.Level[i] = math.NaN()
				}
			}
			all = append(all, c)
		}
		return all
	}
	const truth, scatter = -34.0, 0.5 // dB
	tally := func(c *Crosstalk, truth float64, held, all *float64) {
		for i, f := range c.Level.Frequency {
			if i%(PerOctave/crosstalkSmoothing) != 0 || f < 100 || f > 15000 || !c.At(f).Known() {
				continue
			}
			*all++
			if low, high := c.At(f).Interval(0.95); low <= truth && truth <= high {
				*held++
			}
		}
	}
	const draws = 40
	var heldOne, one, heldMean, mean float64
	for range draws {
		sides := [2]*Side{{}, {}}
		for range 3 {
			leak := truth + scatter*random.NormFloat64()
			for k, c := range measure(decibel.Amplitude(leak)) {
				tally(c, leak, &heldOne, &one)
				sides[k].Seatings = append(sides[k].Seatings, &Reading{Further: &Further{Crosstalk: c}})
			}
		}
		tally(sides[0].crosstalk(), truth, &heldMean, &mean)
	}
	t.Logf("one seating %.1f %% of %v, the mean of three %.1f %% of %v", 100*heldOne/one, one, 100*heldMean/mean, mean)
	require.Greater(t, mean, 20.*draws)
	assert.InDelta(t, 0.95, heldOne/one, 0.02)
	// The points of one draw are correlated: for 40 draws and 95 %.
	assert.InDelta(t, 0.95, heldMean/mean, 2*math.Sqrt(0.95*0.05/draws))
}
