package capture

import (
	"math"
	"time"

	"example.com/earnest/sweep"
)

// otherSpeed looks for the sweep as it sounds in a file that is labelled with another sample rate than it was recorded at: higher and shorter, or lower and
// longer. It returns the rate at which it was recorded, or 0 if there is none at which the sweep stands out by more than
// least dB and is as strong as what sounds there.
func (c *channel) otherSpeed(least float64) (rate int) {
	s := c.ref.stimulus.Sweep()
	x := thin(c.x, c.ref.thinned)
	for _, recorded := range []int{44100, 48000, 88200, 96000} {
		speed := float64(s.SampleRate()) / float64(recorded)
		if speed == 1 || speed > 2 || speed < 0.5 {
			continue
		}
		stop := min(s.Stop()*speed, float64(s.SampleRate())/2)
		duration := s.TimeConstant() / speed * math.Log(stop/(s.Start()*speed))
		other, err := sweep.New(sweep.Config{Start: s.Start() * speed, Stop: stop, SampleRate: s.SampleRate(),
			Duration: time.Duration(duration * float64(time.Second))})
		if err != nil {
			continue
		}
		sound := thin(other.Samples(), c.ref.thinned)
		match := newMatcher(c.plans, x, sound).with(sound)
		at := strongest(match, 0, len(match))
		self := newMatcher(nil, sound, sound).with(sound)[0] // of an amplitude of 1
		expected := magnitudeAt(match, at) / self / math.Sqrt2
		p := decibels(magnitudeAt(match, at) / medianMagnitude(match))
		during := c.during(at*c.ref.thinned, other.Len())
		// What a sweep's edge or a mark matches by chance is far weaker than what
		// sounds there, or stands where nothing sounds.
		if p > least && during/2 < expected && expected < 2*during {
			rate, least = recorded, p
		}
	}
	return rate
}
