package coverage

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// Decays are counted from impulse responses, without recordings: the direct sound, a resonance in
// the middle of a third octave that rings for longer than the band's filter, and noise. With a time
// constant of T = Q/(π f) the energy of the resonance still to come after a time t is e^(−2t/T) of
// its whole. The whole energy in the band, weighted by its filter, is that of the spectrum without
// noise (Parseval).
func TestDecays(t *testing.T) {
	race.Skip(t)
	const rate, seconds = 25600, 1
	plan := fft.NewPlan(rate * seconds)
	var counted tally
	for i := range *sessions {
		r, d := rand.New(rand.NewPCG(*seed, uint64(i))), draw{}
		x := make([]float64, rate*seconds)
		before := rate / 5
		f, q := 1000*math.Pow(10, float64(r.IntN(19)-10)/10), between(r, 30, 120)
		constant := q / (math.Pi * f)
		floor := math.Pow(10, between(r, -90, -50)/20)
		phase := 2 * math.Pi * r.Float64()
		const direct = 20.
		x[before] = direct
		for k := range x[before:] {
			x[before+k] += resonance(float64(k)/rate, f, constant, phase)
		}
		clean := append([]float64(nil), x...)
		weighed := func(low, high float64) (all, ringing float64) {
			width := (high - low) / (2 * math.Sqrt(math.Ln2))
			for k, v := range plan.Forward(nil, clean) {
				z := (float64(k)/seconds - (low+high)/2) / width
				all += fft.Power(v) * math.Exp(-z*z)
			}
			for k := range x[before:] {
				ringing += math.Pow(resonance(float64(k)/rate, f, constant, phase), 2)
			}
			z := (f - (low+high)/2) / width
			return all * 2 / float64(len(x)), ringing * math.Exp(-z*z)
		}
		for k := range x {
			x[k] += floor * r.NormFloat64()
		}
		h := &response.Impulse{Samples: x, SampleRate: rate, Zero: before, Valid: response.Band{Low: 20, High: 11500}}
		decays, err := h.Decays(response.DecayConfig{})
		require.NoError(t, err)
		for _, one := range decays {
			if one.Band.Low <= f && f <= one.Band.High {
				time, _ := one.To(review.DecaySpan)
				all, ringing := weighed(one.Band.Low, one.Band.High)
				truth := constant / 2 * (-review.DecaySpan/10*math.Ln10 + math.Log(ringing/all))
				d.figure("decay of a third octave", time, truth)
			}
		}
		counted.draws = append(counted.draws, d)
	}
	if testing.Verbose() {
		counted.print(os.Stdout)
	}
	counted.check(t, *sessions <= few)
}

func resonance(t, f, constant, phase float64) float64 {
	return math.Exp(-t/constant) * math.Sin(2*math.Pi*f*t+phase)
}
