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
			"not by hertz. A sweep that rises by octaves stays as long on each of them. " +
			"Its power falls by 3 dB per octave, as that of pink noise does, so the bass is measured as surely as the treble. " +
			"On a logarithmic axis it is a straight line, and each harmonic is the same line a fixed time earlier: " +
			"that is why distortion can be told from the response at all.",
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
		Answer: "What is recorded has been through the interface twice, out and in, " +
			"and the pair is blamed for both. The direct recording has been through it as well, and nothing else: " +
			"divided out, what the two have in common cancels. What is not in both stays: " +
			"the microphone, the room, the place where the pair sat.",
		Reading: readDirect,
	},
	{
		Title:    "What smoothing hides",
		Question: "A smooth curve is easy to read. What is no longer in it?",
		Look:     "Look at the response near 6.3 kHz, the truth beside it.",
		Picture:  "response",
		Tries: []Try{
			{"Smooth by 1/3 octave", func(s *bench.Settings) { s.Smoothing = 3 }},
			{"Do not smooth", func(s *bench.Settings) { s.Smoothing = 0 }},
			{"Smooth as hearing does", func(s *bench.Settings) { s.Smoothing = bench.Hearing }},
		},
		Answer: "A smoothed value is the mean over a band. What is narrower than the band keeps its energy but loses its " +
			"height, and a high narrow resonance becomes a low broad hill. " +
			"Smoothing also hides noise, and detail that changes with each seating and means nothing; " +
			"so smooth, say by how much, and look once at the curve without it.",
		Reading: readSmoothing,
	},
	{
		Title:    "Where harmonics go",
		Question: "This pair adds 10 % of second harmonic to what it is fed. Why is its response right all the same?",
		Look:     "Look at the impulse: what stands before the peak, and where the window begins.",
		Picture:  "impulse",
		Tries: []Try{
			{"A window that keeps clear of them", func(s *bench.Settings) { s.Second, s.Third, s.Smoothing = -20, -40, 0 }},
			{"A window that lets one in",
				func(s *bench.Settings) { s.Second, s.Third, s.Smoothing, s.Before = -20, -40, 0, 150 }},
		},
		Answer: "The second harmonic reaches each frequency before the sweep itself does, " +
			"by the time that the sweep takes for an octave. Deconvolved, each harmonic stands by itself before the response: " +
			"the n-th by L ln n, with L the time for a factor of e. The window cuts the response out and leaves them behind, " +
			"to be read as distortion. " +
			"A window that reaches back too far, or a sweep so short that they crowd together, mixes the two.",
		Reading: readHarmonics,
	},
	{
		Title:    "When distortion is noise",
		Question: "A figure for the second harmonic comes out. Is it the pair's?",
		Look:     "Look at the harmonics and at the floor below them.",
		Picture:  "harmonics",
		Tries: []Try{
			{"Measure in a noisy room", func(s *bench.Settings) { s.Noise, s.Second, s.Third = -40, -70, math.Inf(-1) }},
			{"Measure in a quiet one", func(s *bench.Settings) { s.Noise, s.Second, s.Third = -95, -70, math.Inf(-1) }},
		},
		Answer: "Noise fills the place where a harmonic would stand, " +
			"and reads as a harmonic. A silence recorded beside the sweep says how high that floor is. A figure within 6 dB " +
			"of it is the floor's; " +
			"what can then be said is that the pair's distortion is no higher than a bound. To lower the floor, " +
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
		Answer: "Neither. Each seating seals differently in the bass and stands differently in the treble; " +
			"the pair has a mean and a spread. One seating tells nothing of the spread. " +
			"Two tell it badly: the 95 % interval of their mean is 9 times the spread (Student's t with one degree of " +
			"freedom, 12.7, over the root of 2), of four 1.6 times. " +
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
		Answer: "That a difference is measured does not say that it is heard, " +
			"and that it is not heard today does not say that " +
			"nobody hears it. A wide change of half a decibel is near what a careful listener tells in quiet, " +
			"side by side, at " +
			"equal loudness; a narrow one takes more, " +
			"and from memory nobody tells it. Guessing is right in half of the trials: " +
			"12 of 16 or more come by chance in 38 of 1000 runs. That is why the order is drawn, hidden and repeated, and why " +
			"the outcome comes with its probability.",
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
		Answer: "Two seatings of one evening differ too. A change is shown where the difference leaves out zero by more than " +
			"putting the pair on again does, at all frequencies at once: among a hundred places five differ by chance. " +
			"That no change was found is not that there was none; what is shown then is how large it can still be. " +
			"More seatings narrow it, an order that is drawn keeps what drifts from looking like a change, " +
			"and both conditions on one day, or several days of each, keep days apart from it.",
		Reading: readOvernight,
	},
}
