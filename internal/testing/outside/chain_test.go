package outside

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"

	"example.com/earnest/internal/biquad"
)

// chain is a series of effects, each by one of the two programs.
type chain struct {
	seed   uint64
	number int
	rate   int
	links  []link
	level  float64 // dBFS peak of what is played
	// material is the signal that is played besides sweep and tone.
	material int
}

type link struct {
	effect
	program string // "sox" or "ffmpeg"
}

// kind is the purpose of a chain.
type kind int

const (
	linear kind = iota
	noisy
	clipped
)

// kindOf returns the kind of a chain by its number. Any five successive chains hold every kind.
func kindOf(number int) kind { return []kind{linear, clipped, linear, noisy, linear}[number%5] }

func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

func logBetween(r *rand.Rand, low, high float64) float64 {
	return math.Exp(between(r, math.Log(low), math.Log(high)))
}

func one[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// draw makes chain number of a seed, independent of the other chains.
func draw(seed uint64, number int) *chain {
	r := rand.New(rand.NewPCG(seed, uint64(number)))
	c := &chain{seed: seed, number: number, rate: one(r, 44100, 48000, 48000, 96000), level: -30, material: number}
	switch kindOf(number) {
	case linear:
		first := 0
		if number%10 == 2 {
			first = unfiltered // so that delay and gain can be checked alone
		}
		c.add(r, c.linear(r, 1+r.IntN(3), first)...)
		c.add(r, c.linear(r, r.IntN(3), first)...)
	case noisy:
		c.add(r, c.linear(r, r.IntN(4), 0)...)
		c.add(r, added(between(r, -110, -70), r.Uint32()%1000))
		c.add(r, c.linear(r, r.IntN(3), 0)...)
	case clipped:
		// If the treble ends below half of 48 kHz, all harmonics of the analysed band remain.
		c.rate, c.level = one(r, 48000, 96000), between(r, -16, -8)
		c.add(r, c.gentle(r, r.IntN(3))...)
		switch r.IntN(3) {
		case 0:
			c.link("sox", overdrive(r, c.rate))
		case 1:
			c.link("sox", contrast(r, c.rate))
		default:
			c.link("ffmpeg", softClip(r, c.rate))
		}
		c.add(r, append([]effect{gain(-8)}, c.gentle(r, r.IntN(3))...)...)
		return c
	}
	if over := c.highest() - 18; over > 0 {
		c.links = append([]link{{gain(-over), c.links[0].program}}, c.links...)
	}
	return c
}

// highest returns the highest gain in dB anywhere along the chain; sox clips at full scale, between
// its effects too.
func (c *chain) highest() float64 {
	top := 0.0
	for f := 20.0; f < 0.48*float64(c.rate); f *= 1.03 {
		h := 1.0
		for _, l := range c.links {
			h *= cmplx.Abs(product([]effect{l.effect}, f, c.rate))
			top = max(top, h)
		}
	}
	return decibel(top)
}

func (c *chain) link(program string, e effect) { c.links = append(c.links, link{e, program}) }

// add adds effects by one of the programs.
func (c *chain) add(r *rand.Rand, effects ...effect) {
	program := one(r, "sox", "ffmpeg")
	for _, e := range effects {
		c.link(program, e)
	}
}

// unfiltered is the number of the first draw of linear that is not a filter.
const unfiltered = 7

// linear draws n effects, from the first of ten on. It does not draw effects that ring for longer
// than the window: a peak's poles have the time constant Q 10^(gain/40)/(πf).
func (c *chain) linear(r *rand.Rand, n, first int) []effect {
	var out []effect
	for range n {
		switch first + r.IntN(10-first) {
		case 0, 1, 2:
			f, level := logBetween(r, 40, 15000), between(r, -12, 12)
			longest := 0.04 * math.Pi * f / math.Pow(10, max(0, level)/40)
			out = append(out, filter(biquad.Peaking, f, min(logBetween(r, 0.4, 6), longest), level, c.rate))
		case 3:
			out = append(out, filter(biquad.LowShelf, logBetween(r, 50, 500), between(r, 0.4, 1), between(r, -10, 10), c.rate))
		case 4:
			out = append(out, filter(biquad.HighShelf, logBetween(r, 1500, 12000), between(r, 0.4, 1), between(r, -10, 10), c.rate))
		case 5:
			out = append(out, filter(biquad.LowPass, logBetween(r, 5000, 18000), between(r, 0.5, 1.2), 0, c.rate))
		case 6:
			out = append(out, filter(biquad.HighPass, logBetween(r, 20, 150), between(r, 0.5, 1.2), 0, c.rate))
		case unfiltered:
			if r.IntN(2) == 0 {
				out = append(out, delay(1+r.IntN(3000)))
			} else {
				out = append(out, quarters(1+r.IntN(200), c.rate))
			}
		case 8:
			out = append(out, gain(between(r, -20, 6)))
		default:
			out = append(out, resampled(c.rate, one(r, 2*c.rate, 192000, 44100+48000-min(c.rate, 48000))))
		}
	}
	return out
}

// gentle draws n filters that a sweep passes as slowly as a steady tone does.
func (c *chain) gentle(r *rand.Rand, n int) []effect {
	var out []effect
	for range n {
		f, level := logBetween(r, 200, 10000), between(r, -4, 3)
		shape := one(r, biquad.Peaking, biquad.LowShelf, biquad.HighShelf)
		out = append(out, filter(shape, f, between(r, 0.4, 1), level, c.rate))
	}
	return out
}

// apart returns the effects before and behind the nonlinear one, and that one. If there is none,
// all are before.
func (c *chain) apart() (before []effect, middle effect, behind []effect) {
	for _, l := range c.links {
		switch {
		case l.noise != nil || l.curve != nil:
			before, middle, behind = behind, l.effect, nil
		default:
			behind = append(behind, l.effect)
		}
	}
	if middle.noise == nil && middle.curve == nil {
		return behind, middle, nil
	}
	return before, middle, behind
}

// response returns that of the linear effects at f Hz, with the delay.
func (c *chain) response(f float64) complex128 {
	h := complex(1, 0)
	for _, l := range c.links {
		h *= product([]effect{l.effect}, f, c.rate)
	}
	return h
}

// filters reports whether any effect changes with frequency.
func (c *chain) filters() bool {
	for _, l := range c.links {
		if l.response != nil && l.response(100) != l.response(5000) {
			return true
		}
	}
	return false
}

// delay returns that of all effects, in samples.
func (c *chain) delay() float64 {
	sum := 0.0
	for _, l := range c.links {
		sum += l.delay
	}
	return sum
}

func (c *chain) String() string {
	var out []string
	for _, l := range c.links {
		switch {
		case l.noise != nil:
			out = append(out, fmt.Sprintf("%s: white noise of amplitude %g", l.program, l.noise.amplitude))
		case l.program == "sox":
			out = append(out, "sox: "+strings.Join(l.sox, " "))
		default:
			out = append(out, "ffmpeg: "+l.ffmpeg)
		}
	}
	return fmt.Sprintf("chain %d of seed %d, %d Hz, %.1f dBFS; %s", c.number, c.seed, c.rate, c.level, strings.Join(out, " | "))
}
