package lesson

import (
	"math"

	"example.com/earnest/examples/workshop/bench"
)

// All are the lessons, in order.
var All = []Lesson{
	{
		Title:    "Why logarithmic",
		Question: "A sweep could rise by as many hertz every second. Why does this one rise by as many octaves?",
		Look: "Look at the spectrogram, " +
			"and at how far the response stands above the noise in the bass and in the treble.",
		Picture: "spectrogram",
		Tries: []Try{
			{"Fill the room with pink noise", func(s *bench.Settings) { s.Noise, s.Pink = -40, 1 }},
			{"The same on a linear axis", func(s *bench.Settings) { s.Noise, s.Pink, s.Linear = -40, 1, 1 }},
		},
		Answer: "Rooms are noisiest in the bass, and ears divide what they hear by ratios, " +
			"not by hertz. A sweep that rises by octaves spends the same time in each of them. Its power " +
			"falls by 3 dB per octave, like that of pink noise, so the bass is measured as accurately as " +
			"the treble. " +
			"On a logarithmic axis it is a straight line, and each harmonic is the same line a fixed time earlier: " +
			"that is why distortion can be separated from the response.",
		Reading: readLogarithmic,
	},
	{
		Title:    "Why a direct recording",
		Question: "The sweep is known exactly. Why record the interface patched straight into itself?",
		Look:     "Look at the error, at both ends of the band.",
		Picture:  "error",
		Tries: []Try{
			{"Leave the direct recording out", func(s *bench.Settings) { s.Direct = 0 }},
			{"Divide by it", func(s *bench.Settings) { s.Direct = 1 }},
		},
		Answer: "Every recording passes the interface twice, out and in, and its errors appear as errors of " +
			"the pair. The direct recording passes the interface and nothing else. Dividing by it cancels " +
			"everything that the two recordings share. The rest stays: " +
			"the microphone, the room, the place where the pair sat.",
		Reading: readDirect,
	},
	{
		Title:    "What smoothing hides",
		Question: "A smooth curve is easy to read. What does it no longer show?",
		Look:     "Look at the response near 6.3 kHz and at the truth beside it.",
		Picture:  "response",
		Tries: []Try{
			{"Smooth by 1/3 octave", func(s *bench.Settings) { s.Smoothing = 3 }},
			{"Do not smooth", func(s *bench.Settings) { s.Smoothing = 0 }},
			{"Smooth as hearing does", func(s *bench.Settings) { s.Smoothing = bench.Hearing }},
		},
		Answer: "A smoothed value is the mean over a band. A resonance narrower than the band keeps its " +
			"energy but loses height: a high narrow peak becomes a low broad hill. " +
			"Smoothing also hides noise, and detail that changes with each seating and means nothing; " +
			"so smooth, say by how much, and look once at the curve without it.",
		Reading: readSmoothing,
	},
	{
		Title:    "Where harmonics go",
		Question: "This pair adds 10 % of second harmonic to what it is fed. Why is its response right all the same?",
		Look:     "Look at the impulse: at the part before the peak, and at the beginning of the window.",
		Picture:  "impulse",
		Tries: []Try{
			{"A window that keeps clear of them", func(s *bench.Settings) { s.Second, s.Third, s.Smoothing = -20, -40, 0 }},
			{"A window that lets one in",
				func(s *bench.Settings) { s.Second, s.Third, s.Smoothing, s.Before = -20, -40, 0, 150 }},
		},
		Answer: "The second harmonic reaches each frequency before the sweep itself does, " +
			"by the time that the sweep takes for an octave. After deconvolution each harmonic is separate " +
			"and comes before the response: the n-th by L ln n, where L is the time for a factor of e. The " +
			"window selects the response. The harmonics before it are then read as distortion. " +
			"A window that reaches back too far, or a sweep so short that they crowd together, mixes the two.",
		Reading: readHarmonics,
	},
	{
		Title:    "When distortion is noise",
		Question: "The measurement gives a figure for the second harmonic. Is it the pair's?",
		Look:     "Look at the harmonics and at the floor below them.",
		Picture:  "harmonics",
		Tries: []Try{
			{"Measure in a noisy room", func(s *bench.Settings) { s.Noise, s.Second, s.Third = -40, -70, math.Inf(-1) }},
			{"Measure in a quiet one", func(s *bench.Settings) { s.Noise, s.Second, s.Third = -95, -70, math.Inf(-1) }},
		},
		Answer: "Noise fills the place of a harmonic and reads like one. A silence recorded beside the " +
			"sweep shows the level of that floor. A figure within 6 dB of the floor is the floor itself; it " +
			"only gives an upper bound for the pair's distortion. To lower the floor, " +
			"find a quieter hour or sweep for longer. Sweeping louder raises the distortion too, and may hurt.",
		Reading: readNoise,
	},
	{
		Title:    "Why two seatings are not one",
		Question: "The pair is taken off and put on again, and the curve is another. Which of the two is right?",
		Look:     "Look at the response below 150 Hz and above 5 kHz, and at the band around the mean.",
		Picture:  "response",
		Tries: []Try{
			{"Put it on once", func(s *bench.Settings) { s.Spread, s.Seatings = 2, 1 }},
			{"Put it on twice", func(s *bench.Settings) { s.Spread, s.Seatings = 2, 2 }},
			{"Put it on four times", func(s *bench.Settings) { s.Spread, s.Seatings = 2, 4 }},
		},
		Answer: "Neither. Each seating has another seal in the bass and another position in the treble. The " +
			"pair has a mean and a spread. One seating shows nothing of the spread, and two show it badly: " +
			"the 95 % interval of their mean is 9 times the spread (Student's t with one degree of freedom, " +
			"12.7, over the root of 2); with four seatings it is 1.6 times. " +
			"Measuring twice without moving the pair repeats one seating, and proves nothing about the next.",
		Reading: readSeatings,
	},
	{
		Title:    "Can you hear half a decibel?",
		Question: "The ripple of a response is half a decibel, and the interval is narrower. Does it matter to an ear?",
		Look:     "Look at the ripple that a reflection makes. Then listen, without knowing which is which.",
		Listen:   true,
		Picture:  "response",
		Tries: []Try{
			{"Half a decibel up and down", func(s *bench.Settings) { s.Reflection, s.Smoothing = -25, 0 }},
			{"Three decibels", func(s *bench.Settings) { s.Reflection, s.Smoothing = -10, 0 }},
		},
		Answer: "A difference that is measured may not be audible, and one that you do not hear today may " +
			"be audible to others. A careful listener in a quiet room can just hear a wide change of half a " +
			"decibel, side by side and at equal loudness. A narrow change must be larger, and from memory " +
			"nobody hears either. Guessing is right in half of the trials: " +
			"12 of 16 or more come by chance in 38 of 1000 runs. That is why the order is random, hidden " +
			"and repeated, and why the outcome comes with its probability.",
		Reading: readRipple,
	},
	{
		Title:    "Does it change overnight?",
		Question: "A pair is measured, played all night and measured again, and the curve is another. Did the night do it?",
		Look:     "Look at the band around the mean: a change that is smaller than it cannot be seen.",
		Guess:    true,
		Picture:  "response",
		Tries: []Try{
			{"Put it on twice", func(s *bench.Settings) { s.Spread, s.Seatings = 1, 2 }},
			{"Put it on three times", func(s *bench.Settings) { s.Spread, s.Seatings = 1, 3 }},
			{"Put it on four times", func(s *bench.Settings) { s.Spread, s.Seatings = 1, 4 }},
		},
		Answer: "Two seatings of one evening differ too. A change is shown if the difference is further " +
			"from zero than the scatter of seatings explains, for all frequencies at once: among a hundred " +
			"frequencies five differ by chance. " +
			"Finding no change does not prove that there was none; the test then shows how large it can " +
			"still be. More seatings narrow that bound. A random order keeps drift from looking like a " +
			"change. Measuring both conditions on one day, or each on several days, separates the change " +
			"from differences between days.",
		Reading: readOvernight,
	},
}
