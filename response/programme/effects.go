package programme

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// Effects is what matters for the sounds of games and films: how low it goes,
// and how attacks come through.
type Effects struct {
	// Reach is the frequency in Hz below which the difference lies more than
	// 10 dB under its mean from 200 Hz to 2 kHz. Deeper says that it holds down
	// to the lowest band known, Reach, and perhaps further: the material or
	// its length does not tell.
	Reach  response.Figure
	Deeper bool
	// Bass is the mean difference from 22 to 89 Hz, relative to that from 200
	// Hz to 2 kHz, in dB.
	Bass response.Figure
	// Onsets is how many attacks the material has; Kept the share of them, 0
	// to 1, that the through recording has at the same instant.
	Onsets int
	Kept   float64
	// Attack is by how much, in dB, an attack stands out more above what went
	// before it in the through recording than in the material, the mean over
	// the onsets kept; below zero it is softened. Its uncertainty is that of the
	// mean. NaN with fewer than 5 onsets.
	Attack response.Figure
}

const (
	reachBelow = -10.0 // dB
	// An onset is where the level over 10 ms rises by 9 dB over the 40 ms
	// before, no quieter than 30 dB below the loudest 10 ms.
	onsetRise  = 9.0
	onsetFloor = -30.0
	keptRise   = 4.5 // dB; half of the rise is still an attack
	leastCount = 5
)

// Effects says what matters for the sounds of games and films.
func (c *Comparison) Effects() Effects {
	bands := c.Bands()
	within := func(low, high float64) response.Figure {
		return weightedMean(bands, func(b Band) float64 {
			if b.Centre > low && b.Centre < high {
				return 1
			}
			return 0
		})
	}
	middle, bass := within(190, 2100), within(22, 89)
	out := Effects{Bass: response.Figure{Value: bass.Value - middle.Value, Uncertainty: math.Hypot(bass.Uncertainty, middle.Uncertainty), Unit: "dB"}}
	out.Reach, out.Deeper = reach(bands, middle.Value)
	out.onsets(c)
	return out
}

// reach goes down from 200 Hz until the difference falls below the middle by 10
// dB, and interpolates between the bands.
func reach(bands []Band, middle float64) (f response.Figure, deeper bool) {
	f = response.NotKnown("Hz")
	var last Band
	for i := len(bands) - 1; i >= 0; i-- {
		b := bands[i]
		if b.Centre > 210 {
			continue
		}
		if !b.Known || math.IsNaN(middle) {
			break
		}
		if fall := b.Difference - middle - reachBelow; fall < 0 {
			if last.Known {
				x := fall / (b.Difference - last.Difference)
				octaves := math.Log2(last.Centre / b.Centre)
				f.Value = b.Centre * math.Exp2(x*octaves)
				slope := math.Abs(last.Difference-b.Difference) / octaves // dB per octave
				f.Uncertainty = f.Value * math.Ln2 * math.Hypot(b.Uncertainty, last.Uncertainty) / slope
			}
			return f, false
		}
		last = b
	}
	if last.Known {
		f.Value, f.Uncertainty = last.Low, 0
		return f, true
	}
	return f, false
}

// onsets compares the attacks of both recordings.
func (e *Effects) onsets(c *Comparison) {
	e.Kept = math.NaN()
	e.Attack = response.NotKnown("dB")
	before, after := int(math.Round(0.040/c.step)), int(math.Round(0.010/c.step))
	direct, through := c.steps[0], c.steps[1]
	x, y := prefix(direct), prefix(through)
	rise := func(sum []float64, i int) (rise, level float64) {
		was := (sum[i] - sum[i-before]) / float64(before)
		is := (sum[i+after] - sum[i]) / float64(after)
		return decibel.OfPower((is + 1e-14) / (was + 1e-14)), is
	}
	var loudest float64
	for i := before; i+after < len(direct); i++ {
		_, level := rise(x, i)
		loudest = max(loudest, level)
	}
	var changes []float64
	for i := before; i+after < len(direct); i++ {
		r, level := rise(x, i)
		if r < onsetRise || level < loudest*decibel.Power(onsetFloor) {
			continue
		}
		// The steepest place within 20 ms is the onset.
		best := i
		for j := i; j < min(i+2*after, len(direct)-after); j++ {
			if s, _ := rise(x, j); s > r {
				best, r = j, s
			}
		}
		e.Onsets++
		if s, _ := rise(y, best); s >= keptRise {
			changes = append(changes, s-r)
		}
		i = best + before
	}
	if e.Onsets > 0 {
		e.Kept = float64(len(changes)) / float64(e.Onsets)
	}
	if len(changes) < leastCount {
		return
	}
	e.Attack.Value = stat.Mean(changes, nil)
	var square float64
	for _, v := range changes {
		square += (v - e.Attack.Value) * (v - e.Attack.Value)
	}
	n := float64(len(changes))
	e.Attack.Uncertainty = math.Sqrt(square / (n - 1) / n)
}

// prefix are the sums up to each value.
func prefix(x []float64) []float64 {
	sum := make([]float64, len(x)+1)
	for i, v := range x {
		sum[i+1] = sum[i] + v
	}
	return sum
}

// LevelDifference is how much louder the through recording is than the direct
// one in plain A-weighted level, in dB, as far as a filter explains it.
func (c *Comparison) LevelDifference() response.Figure {
	var before, after, slack float64
	for _, b := range c.Bands() {
		if !b.Known {
			continue
		}
		p := decibel.Power(b.Direct + smoothing.AWeighting(b.Centre))
		q := p * decibel.Power(b.Difference)
		before += p
		after += q
		slack += q * q * b.Uncertainty * b.Uncertainty
	}
	if before == 0 {
		return response.NotKnown("dB")
	}
	return response.Figure{Value: decibel.OfPower(after / before), Uncertainty: math.Sqrt(slack) / after, Unit: "dB"}
}
