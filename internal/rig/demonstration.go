package rig

import "time"

// Demonstration returns an invented review: a pair to judge, two rivals that the readers trust, and
// the rig, a flat plate. None of them describes a thing that exists. The subject has
//
//   - 3 dB more bass than the middle, a dip of 4 dB at 3.4 kHz and a peak of 5 dB at 8.5 kHz;
//   - a right side 0.4 dB softer than the left, by 0.8 dB around 2 kHz;
//   - harmonics at −60 dB (second) and −70 dB (third) for a tone of −12 dBFS, rising by about 9
//     and 18 dB in the bass.
//
// The sample rate is 48 kHz and the seed 1; both may be changed, the rate to 44.1 kHz and more.
func Demonstration() (subject Headphones, rivals []Headphones, r Rig) {
	return demonstrationSubject(), []Headphones{demonstrationEven(), demonstrationWarm()}, demonstrationRig()
}

// heavyBass raises the bass by 9 dB before the distortion; heavyBassBack, behind it, lowers it
// again.
var heavyBass, heavyBassBack = LowShelf(110, 0.6, 9), LowShelf(110, 0.6, -9)

func demonstrationSubject() Headphones {
	left := Driver{
		Before:     []Filter{heavyBass},
		Distortion: NewPolynomial(-12, -60, -70, -106, -120),
		Filters: []Filter{
			heavyBassBack,
			HighPass(14, 0.7),
			LowShelf(120, 0.7, 3),
			Peak(420, 0.9, -1),
			Peak(3400, 2.2, -4),
			Peak(5600, 3, 1.5),
			Peak(8500, 8, 5),
			HighShelf(13000, 0.7, -3),
		},
		Delay:       38 * time.Microsecond,
		Reflections: []Reflection{{Delay: 210 * time.Microsecond, Level: -27}},
	}
	right := left
	right.Gain = -0.4
	right.Filters = append([]Filter{Peak(2000, 1.2, -0.4)}, left.Filters...)
	right.Filters[7] = Peak(8800, 8, 4.4)
	right.Delay = 40 * time.Microsecond
	return Headphones{Name: "Wexcombe Ardle (invented)", Left: left, Right: right}
}

// demonstrationEven returns a well-matched and clean pair.
func demonstrationEven() Headphones {
	left := Driver{
		Before:     []Filter{heavyBass},
		Distortion: NewPolynomial(-12, -72, -80, -118, -130),
		Filters: []Filter{
			heavyBassBack,
			HighPass(9, 0.7),
			LowShelf(90, 0.7, 1.5),
			Peak(1500, 0.8, -0.8),
			Peak(4200, 2, -1.5),
			Peak(9200, 3, 2.5),
			HighShelf(14000, 0.7, -2),
		},
		Gain:        -2.5,
		Delay:       31 * time.Microsecond,
		Reflections: []Reflection{{Delay: 170 * time.Microsecond, Level: -32}},
	}
	right := left
	right.Gain = -2.7
	return Headphones{Name: "Tarrowby Quen (invented)", Left: left, Right: right}
}

// demonstrationWarm returns a pair with much bass and little treble, and a crossover's phase.
func demonstrationWarm() Headphones {
	left := Driver{
		Before:     []Filter{heavyBass},
		Distortion: NewPolynomial(-12, -55, -62, -101, -112),
		Filters: []Filter{
			heavyBassBack,
			HighPass(18, 0.8),
			LowShelf(150, 0.7, 5.5),
			Peak(250, 1, 1.5),
			AllPass(1800, 0.7),
			Peak(2800, 1.8, -2.5),
			Peak(7000, 4, 3),
			HighShelf(6000, 0.7, -4),
		},
		Gain:        1.5,
		Delay:       45 * time.Microsecond,
		Reflections: []Reflection{{Delay: 260 * time.Microsecond, Level: -25}},
	}
	right := left
	right.Gain = 0.9
	right.Filters = append([]Filter{Peak(500, 0.8, 0.5)}, left.Filters...)
	return Headphones{Name: "Ollerthwaite Brint (invented)", Left: left, Right: right}
}

func demonstrationRig() Rig {
	return Rig{
		Name:       "flat plate, simulated",
		SampleRate: 48000,
		Seed:       1,
		Interface: Interface{
			Filters:    []Filter{HighPass(3, 0.71), LowPass(21500, 0.8)},
			Distortion: NewPolynomial(-12, -100, -105, -130, -130),
		},
		Latency:     612.3,
		DirectGain:  0,
		ThroughGain: -3,
		Noise:       Noise{Level: -104, Pink: 0.2},
		Hum:         Hum{Frequency: 50, Level: -102, Harmonics: []float64{-8, -5, -16, -10}},
		DC:          2e-5,
		Microphone:  []Filter{LowShelf(25, 0.7, -0.5), Peak(9500, 1.2, 0.8), HighShelf(15000, 0.7, 1)},
		Plate:       []Reflection{{Delay: 1180 * time.Microsecond, Level: -38}},
		Room:        Noise{Level: -84, Pink: 0.7},
		Seating:     Seating{Leak: 0.8, Ripple: 0.7},
		Spill:       Spill{Level: -50, Filters: []Filter{LowPass(1500, 0.6)}},
	}
}
