package spoilt

import (
	"fmt"
	"math"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// change changes channels.
type change = func([][]float64) [][]float64

// fault is a way to spoil a session.
type fault struct {
	name string
	// names are the kinds of finding that name the fault, or one that cannot be distinguished from
	// it.
	names []response.FindingKind
	// draw draws the severity, in words, and the place of the fault.
	draw func(s *session) (severity string, spoil spoiling)
	// traceless is the reason why these recordings cannot show the fault; empty if they should.
	traceless string
}

// spoiling holds the changes of the two recordings; exchanged swaps them, and played is another
// stimulus in place of the stated one.
type spoiling struct {
	direct, through stages
	exchanged       bool
	stated          *sweep.Stimulus
}

var (
	levelKinds  = []response.FindingKind{"level control"}
	echoKinds   = []response.FindingKind{"echo"}
	trebleKinds = []response.FindingKind{fitness.Resampled, fitness.LossyCodec}
	clipKinds   = []response.FindingKind{"soft clipping", fitness.FlatTops, fitness.Clipping}
	timeKinds   = []response.FindingKind{fitness.DroppedSamples, fitness.RepeatedSamples}
	directKinds = []response.FindingKind{review.DirectNotFlat, review.NotDirect}
)

// through applies a fault of the recorder to the recording through the headphones; both applies it
// to every recording.
func through(c change) spoiling { return spoiling{through: stages{recorder: c}} }

// somewhere applies the fault to the recorder or the player, in the recording through the
// headphones alone or in both.
func (s *session) somewhere(c change) (string, spoiling) {
	at, name := stages{recorder: c}, "recorder"
	if s.chance(0.3) {
		at, name = stages{player: c}, "player"
	}
	if s.chance(0.3) {
		return name + ", both", spoiling{direct: at, through: at}
	}
	return name, spoiling{through: at}
}

// struck returns somewhere with the severity.
func (s *session) struck(severity string, c change) (string, spoiling) {
	where, spoil := s.somewhere(c)
	return severity + " (" + where + ")", spoil
}

func faults() []fault {
	return []fault{
		{"automatic gain", levelKinds, func(s *session) (string, spoiling) {
			d := dynamics{attack: s.logBetween(0.005, 0.3), release: s.logBetween(0.1, 3), ratio: s.logBetween(1.1, 10), above: s.below(3, 30), linked: s.chance(0.5)}
			return s.struck(d.String(), d.apply(s))
		}, ""},
		{"limiter", levelKinds, func(s *session) (string, spoiling) {
			d := dynamics{attack: s.logBetween(0.0005, 0.01), release: s.logBetween(0.03, 0.5), ratio: 50, above: s.below(-0.5, 10), linked: s.chance(0.5)}
			return s.struck(d.String(), d.apply(s))
		}, ""},
		{"compressor", levelKinds, func(s *session) (string, spoiling) {
			d := dynamics{attack: s.logBetween(0.001, 0.05), release: s.logBetween(0.05, 1), ratio: s.logBetween(1.1, 6), above: s.below(1, 30), linked: s.chance(0.5)}
			return s.struck(d.String(), d.apply(s))
		}, ""},
		{"compander", levelKinds, func(s *session) (string, spoiling) {
			fast, off := s.logBetween(0.002, 0.05), s.between(1.02, 1.5)
			c := dynamics{attack: fast, release: s.logBetween(0.05, 0.3), ratio: 2, above: s.below(10, 40)}
			e := dynamics{attack: fast * off, release: c.release * off, ratio: 0.5 * s.between(0.9, 1.1)}
			return s.struck(fmt.Sprintf("%v, mistuned by %.2f", c, off), func(x [][]float64) [][]float64 {
				threshold := peakOf(x) + c.above
				return e.at(threshold, c.at(threshold, x, s), s)
			})
		}, ""},
		{"expander", levelKinds, func(s *session) (string, spoiling) {
			d := dynamics{attack: s.logBetween(0.001, 0.05), release: s.logBetween(0.05, 0.5), ratio: 1 / s.logBetween(1.1, 4), above: s.below(10, 50), downward: true}
			return s.struck(d.String(), d.apply(s))
		}, ""},
		{"gate", levelKinds, func(s *session) (string, spoiling) {
			d := dynamics{attack: s.logBetween(0.0005, 0.02), release: s.logBetween(0.02, 0.4), above: s.below(15, 60), shuts: true}
			return s.struck(d.String(), d.apply(s))
		}, ""},
		{"noise suppression", levelKinds, suppression, ""},
		{"equaliser in direct", directKinds, func(s *session) (string, spoiling) {
			severity, c := s.equaliser()
			return severity, spoiling{direct: stages{recorder: c}}
		}, ""},
		{"equaliser in both", directKinds, func(s *session) (string, spoiling) {
			severity, c := s.equaliser()
			return severity, spoiling{direct: stages{recorder: c}, through: stages{recorder: c}}
		}, ""},
		{"equaliser in through", directKinds, func(s *session) (string, spoiling) {
			severity, c := s.equaliser()
			return severity, spoiling{through: stages{recorder: c}}
		}, "to any measurement it is the headphones"},
		{"echo", echoKinds, func(s *session) (string, spoiling) {
			late, level := s.logBetween(0.012, 0.5), s.between(-45, -6)
			return s.struck(fmt.Sprintf("%.0f ms, %.0f dB", 1000*late, level), s.echo(late, level, 0))
		}, ""},
		{"early echo", echoKinds, func(s *session) (string, spoiling) {
			late, level := s.logBetween(0.003, 0.012), s.between(-40, -6)
			return s.struck(fmt.Sprintf("%.1f ms, %.0f dB", 1000*late, level), s.echo(late, level, 0))
		}, "a plate or a room sends as much back"},
		{"feedback", echoKinds, func(s *session) (string, spoiling) {
			late, level := s.logBetween(0.012, 0.2), s.between(-40, -3)
			return s.struck(fmt.Sprintf("%.0f ms, %.0f dB", 1000*late, level), s.echo(late, level, level))
		}, ""},
		{"monitor loop", echoKinds, monitorLoop, ""},
		{"low rate", trebleKinds, lowRate, ""},
		{"simulated coder", trebleKinds, simulatedCoder, ""},
		{"AAC", trebleKinds, coder("aac", ".m4a", 64, 96, 128), ""},
		{"Opus", trebleKinds, coder("libopus", ".opus", 32, 64, 96), ""},
		{"MP3", trebleKinds, coder("libmp3lame", ".mp3", 64, 96, 128, 192), ""},
		{"Vorbis", trebleKinds, coder("libvorbis", ".ogg", 64, 96, 128, 192), ""},
		{"AC-3", trebleKinds, coder("ac3", ".ac3", 96, 192, 320), ""},
		{"Windows Media", trebleKinds, coder("wmav2", ".wma", 64, 128, 192), ""},
		{"sub-band coder", trebleKinds, coder("sbc", ".sbc", 128, 200, 328), ""},
		{"adaptive differences", trebleKinds, coder("adpcm_ima_wav", ".wav", 384), ""},
		{"soft clipping", clipKinds, softClipping, ""},
		{"hard clipping", clipKinds, func(s *session) (string, spoiling) {
			over := s.between(0.2, 12)
			c := func(x [][]float64) [][]float64 { return rig.FlatTop(x, peakOf(x)-over) }
			return s.struck(fmt.Sprintf("by %.1f dB", over), c)
		}, ""},
		{"voice", []response.FindingKind{fitness.Disturbance, fitness.LowLevel}, voice, ""},
		{"door", []response.FindingKind{fitness.Disturbance, fitness.LowLevel}, door, ""},
		{"clicks", []response.FindingKind{fitness.Clicks, fitness.DroppedSamples}, func(s *session) (string, spoiling) {
			n, level := 1+s.IntN(20), s.between(-50, 0)
			return fmt.Sprintf("%d at %.0f dB", n, level), spoiling{through: stages{file: func(x [][]float64) [][]float64 {
				return s.click(x, n, peakOf(x)+level)
			}}}
		}, ""},
		{"dropout", []response.FindingKind{fitness.DroppedSamples, fitness.Clicks}, func(s *session) (string, spoiling) {
			n := int(s.logBetween(4, 5000))
			return fmt.Sprintf("%d samples", n), spoiling{through: stages{file: s.mute(n)}}
		}, ""},
		{"tremolo", levelKinds, func(s *session) (string, spoiling) {
			rate, depth := s.logBetween(0.3, 10), s.between(0.2, 8)
			return s.struck(fmt.Sprintf("%.1f Hz, %.1f dB", rate, depth), s.tremolo(rate, depth))
		}, ""},
		{"vibrato", []response.FindingKind{fitness.Wow}, func(s *session) (string, spoiling) {
			rate, reach := s.logBetween(0.3, 8), s.logBetween(0.00002, 0.002)
			return s.struck(fmt.Sprintf("%.1f Hz, %.2f ms", rate, 1000*reach), s.moving(rate, reach, 0.002, 1, 0))
		}, ""},
		{"chorus", []response.FindingKind{fitness.Wow, fitness.Echo}, func(s *session) (string, spoiling) {
			rate, reach, later, share := s.logBetween(0.2, 5), s.logBetween(0.0005, 0.005), s.logBetween(0.0003, 0.03), s.between(0.1, 1)
			return s.struck(fmt.Sprintf("%.1f Hz, %.1f ms, %.1f ms later, %.1f", rate, 1000*reach, 1000*later, share),
				s.moving(rate, reach, later, share, 1))
		}, ""},
		{"lost samples", timeKinds, func(s *session) (string, spoiling) {
			n := int(s.logBetween(1, 5000))
			return fmt.Sprintf("%d samples", n), spoiling{through: stages{file: func(x [][]float64) [][]float64 { return rig.DropBlock(x, s.where(x), n) }}}
		}, ""},
		{"inserted samples", timeKinds, func(s *session) (string, spoiling) {
			n := int(s.logBetween(1, 5000))
			return fmt.Sprintf("%d samples", n), spoiling{through: stages{file: s.insert(n)}}
		}, ""},
		{"repeated samples", timeKinds, func(s *session) (string, spoiling) {
			n := int(s.logBetween(1, 5000))
			return fmt.Sprintf("%d samples", n), spoiling{through: stages{file: func(x [][]float64) [][]float64 { return rig.RepeatBlock(x, s.where(x), n) }}}
		}, ""},
		{"wrong stimulus", []response.FindingKind{fitness.NoSweep, review.WrongSetting, fitness.WrongRate, fitness.DroppedSamples}, wrongStimulus, ""},
		{"exchange", directKinds, func(s *session) (string, spoiling) { return "", spoiling{exchanged: true} }, ""},
	}
}

// below returns a level in dB below the peak of the signal to be spoilt.
func (s *session) below(least, most float64) float64 { return -s.between(least, most) }

func peakOf(x [][]float64) float64 {
	var top float64
	for _, c := range x {
		for _, v := range c {
			top = max(top, math.Abs(v))
		}
	}
	return 20 * math.Log10(top)
}
