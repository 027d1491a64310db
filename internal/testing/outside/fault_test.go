package outside

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
)

// spoilt is a recording to be spoilt: its file, its content, and the file for the result.
type spoilt struct {
	*rand.Rand
	in, out string
	rate    int
	seconds float64
	other   string // a recording of something else, of the same rate and number of channels
}

// at returns a time in samples, in sox's notation, away from the ends of the recording.
func (s spoilt) at() int { return int(between(s.Rand, 0.2, 0.8) * s.seconds * float64(s.rate)) }

func (s spoilt) sox(effects ...string) []command {
	return []command{append(append(command{"sox", "-D", s.in}, soxFormat(s.out)...), effects...)}
}

// integer returns a command of sox with an output of a number of bits.
func (s spoilt) integer(bits int, effects ...string) []command {
	return []command{append(command{"sox", "-D", s.in, "-b", fmt.Sprint(bits), "-e", map[bool]string{true: "unsigned-integer", false: "signed-integer"}[bits == 8], s.out}, effects...)}
}

func (s spoilt) ffmpeg(filters string) []command {
	return []command{{"ffmpeg", "-nostdin", "-loglevel", "error", "-y", "-i", s.in, "-af", "aformat=sample_fmts=dblp," + filters, "-ar", fmt.Sprint(s.rate), "-c:a", "pcm_f64le", s.out}}
}

// mixed adds the output of another sox command.
func (s spoilt) mixed(source ...string) []command {
	return []command{append(command{"sox", "-D", "-m", "-v", "1", s.in, "-v", "1", "|sox -D -r " + fmt.Sprint(s.rate) + " -n -c 2 -p " + strings.Join(source, " ")}, soxFormat(s.out)...)}
}

// coded returns commands to a coder and back.
func (s spoilt) coded(codec, kilobits, suffix string) []command {
	between := strings.TrimSuffix(s.out, filepath.Ext(s.out)) + suffix
	return []command{
		{"ffmpeg", "-nostdin", "-loglevel", "error", "-y", "-i", s.in, "-c:a", codec, "-b:a", kilobits + "k", between},
		{"ffmpeg", "-nostdin", "-loglevel", "error", "-y", "-i", between, "-ar", fmt.Sprint(s.rate), "-c:a", "pcm_s24le", s.out},
	}
}

// fault is a way to spoil a recording.
type fault struct {
	name string
	// commands spoil the recording with a random severity, which is returned in words.
	commands func(s spoilt) (commands []command, severity string)
	// blind is the reason why the recording of a sweep alone cannot show the fault. It is empty if
	// the fault has to be found, or to do no harm.
	blind string
}

const steady = "a gain that follows the level slowly changes a sweep as a filter does; only music and speech distinguish them"

var faults = []fault{
	{"clipped by the recorder", func(s spoilt) ([]command, string) {
		level := between(s.Rand, 18, 50)
		return s.integer(24, "gain", fmt.Sprintf("%.2f", level)), fmt.Sprintf("raised by %.1f dB", level)
	}, ""},
	{"a piece missing", func(s spoilt) ([]command, string) {
		at, n := s.at(), int(logBetween(s.Rand, 1, 30000))
		return s.sox("trim", "0", fmt.Sprintf("%ds", at), fmt.Sprintf("%ds", n)), fmt.Sprintf("%d samples at %d", n, at)
	}, ""},
	{"a piece twice", func(s spoilt) ([]command, string) {
		at, n := s.at(), int(logBetween(s.Rand, 4, 30000))
		first, rest := fmt.Sprintf("|sox %s -p trim 0 %ds", s.in, at), fmt.Sprintf("|sox %s -p trim %ds", s.in, at-n)
		return []command{append(command{"sox", "-D", first, rest}, soxFormat(s.out)...)}, fmt.Sprintf("%d samples at %d", n, at)
	}, ""},
	{"labelled with another rate", func(s spoilt) ([]command, string) {
		other := one(s.Rand, 44100, 48001, 47000, 96000, 32000)
		return []command{append(command{"sox", "-D", "-r", fmt.Sprint(other), s.in}, soxFormat(s.out)...)}, fmt.Sprintf("%d Hz", other)
	}, ""},
	{"played at another speed", func(s spoilt) ([]command, string) {
		v := 1 + one(s.Rand, -1., 1)*logBetween(s.Rand, 1e-5, 0.1)
		return s.sox("speed", fmt.Sprintf("%.7f", v), "rate", "-v", fmt.Sprint(s.rate)), fmt.Sprintf("%+.0f ppm", 1e6*(v-1))
	}, ""},
	{"noise", func(s spoilt) ([]command, string) {
		level := between(s.Rand, -90, -6)
		return s.mixed("synth", fmt.Sprint(s.seconds), one(s.Rand, "whitenoise", "pinknoise", "brownnoise"), "vol", fmt.Sprintf("%.2fdB", level)), fmt.Sprintf("%.0f dBFS", level)
	}, ""},
	{"another recording in its place", func(s spoilt) ([]command, string) {
		return []command{append(command{"sox", "-D", s.other}, soxFormat(s.out)...)}, ""
	}, ""},
	{"another recording underneath", func(s spoilt) ([]command, string) {
		level := between(s.Rand, -40, 20)
		return []command{append(command{"sox", "-D", "-m", "-v", "1", s.in, "-v", fmt.Sprintf("%.4f", amplitude(level)), s.other}, soxFormat(s.out)...)}, fmt.Sprintf("at %.0f dB", level)
	}, ""},
	{"silence", func(s spoilt) ([]command, string) { return s.integer(16, "vol", "0"), "" }, ""},
	{"far too soft", func(s spoilt) ([]command, string) {
		level := between(s.Rand, -80, -20)
		return s.integer(16, "vol", fmt.Sprintf("%.2fdB", level)), fmt.Sprintf("%.0f dB in 16 bits", level)
	}, ""},
	{"eight bits", func(s spoilt) ([]command, string) { return s.integer(8), "" }, ""},
	{"the logarithmic code of telephones", func(s spoilt) ([]command, string) {
		between := s.out + ".au"
		return []command{{"sox", "-D", s.in, "-e", "mu-law", between}, append(command{"sox", "-D", between}, soxFormat(s.out)...)}, ""
	}, ""},
	{"a long wait before it", func(s spoilt) ([]command, string) {
		wait := logBetween(s.Rand, 1, 40)
		return s.sox("pad", fmt.Sprintf("%.3f", wait)), fmt.Sprintf("%.1f s", wait)
	}, ""},
	{"started late", func(s spoilt) ([]command, string) {
		at := s.at()
		return s.sox("trim", fmt.Sprintf("%ds", at)), fmt.Sprint(at, " samples")
	}, ""},
	{"stopped early", func(s spoilt) ([]command, string) {
		at := s.at()
		return s.sox("trim", "0", fmt.Sprintf("%ds", at)), fmt.Sprint("after ", at, " samples")
	}, ""},
	{"an offset", func(s spoilt) ([]command, string) {
		v := one(s.Rand, -1., 1) * logBetween(s.Rand, 1e-4, 0.9)
		return s.sox("dcshift", fmt.Sprintf("%.5f", v)), fmt.Sprintf("%.4f", v)
	}, ""},
	{"upside down", func(s spoilt) ([]command, string) {
		which := one(s.Rand, "1i 2i", "1 2i", "1i 2")
		return s.sox(append([]string{"remix"}, strings.Fields(which)...)...), which
	}, ""},
	{"channels mixed", func(s spoilt) ([]command, string) {
		which := one(s.Rand, "2 1", "1,2 1,2", "1,2v0.3 2", "1,2i 2,1i", "1,2v0.02 1v0.02,2", "1 1", "1")
		return s.sox(append([]string{"remix", "-m"}, strings.Fields(which)...)...), which
	}, ""},
	{"a coder that saves bits", func(s spoilt) ([]command, string) {
		kilobits := one(s.Rand, "64", "96", "128", "192")
		codec := one(s.Rand, "libmp3lame .mp3", "aac .m4a", "libopus .opus", "libvorbis .ogg")
		f := strings.Fields(codec)
		return s.coded(f[0], kilobits, f[1]), codec + " " + kilobits + " kbit/s"
	}, ""},
	{"a lower sample rate on the way", func(s spoilt) ([]command, string) {
		other := one(s.Rand, 8000, 16000, 22050, 32000)
		return s.sox(there(s.rate, other)...), fmt.Sprint(other, " Hz")
	}, ""},
	{"hum", func(s spoilt) ([]command, string) {
		level := between(s.Rand, -80, -10)
		return s.mixed("synth", fmt.Sprint(s.seconds), one(s.Rand, "sine", "square"), one(s.Rand, "50", "60"), "vol", fmt.Sprintf("%.1fdB", level)), fmt.Sprintf("%.0f dBFS", level)
	}, ""},
	{"noise reduction", func(s spoilt) ([]command, string) {
		nr := between(s.Rand, 6, 60)
		return s.ffmpeg(fmt.Sprintf("afftdn=nr=%.1f:nf=%.1f", nr, between(s.Rand, -75, -30))), fmt.Sprintf("by %.0f dB", nr)
	}, ""},
	{"a gate", func(s spoilt) ([]command, string) {
		threshold := logBetween(s.Rand, 0.001, 0.1)
		return s.ffmpeg(fmt.Sprintf("agate=threshold=%.5f:ratio=9:attack=5:release=50", threshold)), fmt.Sprintf("below %.4f", threshold)
	}, ""},
	{"automatic gain", func(s spoilt) ([]command, string) { return s.ffmpeg("dynaudnorm=f=200:g=5"), "" }, steady},
	{"a compressor", func(s spoilt) ([]command, string) {
		threshold := between(s.Rand, -60, -25)
		return s.sox("compand", "0.02,0.3", fmt.Sprintf("6:-90,-90,%.0f,%.0f,0,%.0f", threshold, threshold, threshold*0.5)), fmt.Sprintf("from %.0f dBFS", threshold)
	}, steady},
	{"tremolo", func(s spoilt) ([]command, string) {
		speed, depth := logBetween(s.Rand, 0.2, 20), between(s.Rand, 2, 60)
		return s.sox("tremolo", fmt.Sprintf("%.2f", speed), fmt.Sprintf("%.0f", depth)), fmt.Sprintf("%.1f Hz, %.0f %%", speed, depth)
	}, steady},
	{"wow", func(s spoilt) ([]command, string) {
		f, d := logBetween(s.Rand, 0.5, 8), logBetween(s.Rand, 0.001, 0.3)
		// It interpolates linearly between samples, which at eight times the rate costs less than
		// 0.1 dB at 18 kHz.
		vibrato := fmt.Sprintf("vibrato=f=%.2f:d=%.4f", f, d)
		return s.ffmpeg(thereFFmpeg(s.rate, 8*s.rate, vibrato)), fmt.Sprintf("%.1f Hz, %.3f", f, d)
	}, ""},
	{"stretched, the pitch kept", func(s spoilt) ([]command, string) {
		v := 1 + one(s.Rand, -1., 1)*logBetween(s.Rand, 0.001, 0.1)
		return s.sox("tempo", fmt.Sprintf("%.4f", v)), fmt.Sprintf("%.4f", v)
	}, ""},
	{"pitch moved, the length kept", func(s spoilt) ([]command, string) {
		cents := one(s.Rand, -1., 1) * logBetween(s.Rand, 1, 200)
		return s.sox("pitch", fmt.Sprintf("%.1f", cents), "rate", "-v", fmt.Sprint(s.rate)), fmt.Sprintf("%.1f cents", cents)
	}, ""},
	{"backwards", func(s spoilt) ([]command, string) { return s.sox("reverse"), "" }, ""},
	{"few steps", func(s spoilt) ([]command, string) {
		bits := between(s.Rand, 3, 12)
		return s.ffmpeg(fmt.Sprintf("acrusher=bits=%.1f:mode=lin:aa=0:samples=1:mix=1", bits)), fmt.Sprintf("%.0f bits", bits)
	}, ""},
	{"muted for a while", func(s spoilt) ([]command, string) {
		at, n := float64(s.at())/float64(s.rate), logBetween(s.Rand, 0.0002, 0.5)
		return s.ffmpeg(fmt.Sprintf("volume=0:enable='between(t,%.5f,%.5f)'", at, at+n)), fmt.Sprintf("%.4f s at %.3f s", n, at)
	}, ""},
	{"turned down half-way", func(s spoilt) ([]command, string) {
		at, level := float64(s.at())/float64(s.rate), between(s.Rand, -12, -0.3)
		return s.ffmpeg(fmt.Sprintf("volume=%.2fdB:enable='gte(t,%.5f)'", level, at)), fmt.Sprintf("%.1f dB from %.2f s on", level, at)
	}, ""},
}
