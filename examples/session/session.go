// Package session reads a session file and measures the pair that it describes. The session file
// names the recordings and says how they were made. It is TOML (toml.io):
//
//	title = "Wren, second sample"
//
//	[headphones]
//	name = "Wren"
//
//	[rig]
//	name    = "flat plate, omnidirectional microphone"
//	ceiling = 20000            # Hz, up to where the microphone is known
//
//	[direct]                   # the interface patched into itself
//	file = "direct.wav"
//
//	[[seating]]                # one for each time the pair was put on
//	left  = { file = "first-left.wav" }
//	right = { file = "first-right.wav" }
//
// Components of uncertainty that no recording shows are stated above all sections as standard
// uncertainties in dB:
//
//	uncertainty = [
//		{ name = "microphone", db = 0.4 },           # its certificate, where its file has no column for it
//		{ name = "coupler", file = "coupler.txt" },  # a table: frequency and dB
//		{ name = "placement", db = 0.3 },            # common to all seatings
//		{ name = "samples", db = 0.8, count = 3 },   # how much three samples differed
//	]
//
// A recorder that was left running gives one file with several seatings, and with the direct
// recording too if it was played there:
//
//	[direct]
//	file = "evening.wav"
//	play = 1                   # the first time the stimulus was played
//
//	[[seating]]
//	every_play = true          # each other time is a seating
//	left  = { file = "evening.wav", channel = 1 }
//	right = { file = "evening.wav", channel = 2 }
//
// The stimulus is read from stimulus.wav beside the session file, as written by the stimulus
// example. Without that file, the session states the stimulus:
//
//	[stimulus]
//	seconds = 6.0
//	level   = -12.0
//
// or, if another program made it, names the file that was played; the direct recording will also
// do:
//
//	[stimulus]
//	file = "played.wav"
//
// A session of music and speech alone has no [direct] and no [[seating]]. It names pieces, each
// recorded direct and through the headphones. The second entry of a piece belongs to the second
// seating, unless it names its seating:
//
//	[[programme]]
//	name   = "slow song"
//	direct = { file = "song-direct.wav" }
//	left   = { file = "song-left.wav" }
//	right  = { file = "song-right.wav" }
//
// To see whether something changed, each seating names its condition, in the order of recording.
// Other sessions of the pair on the same rig can be included:
//
//	[[seating]]
//	condition = "new"
//	left  = { file = "first-left.wav" }
//
//	[[seating]]
//	condition = "after 20 hours"
//	left  = { file = "second-left.wav" }
//
//	[[compare]]
//	conditions = ["new", "after 20 hours"]
//	order      = "random"      # as it was drawn; "in turn" takes drift out
//	sessions   = ["../last-year/session.toml"]
//
// All other keys have default values or may be left out. Paths are relative to the session file.
package session

import (
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
)

// Session is the content of a session file.
type Session struct {
	// Title heads the report.
	Title string `toml:"title"`
	// Date of the recordings, as it is to be printed.
	Date string `toml:"date"`
	// UseUnfit also measures recordings that are not fit to use. The findings stay at the top of
	// the report.
	UseUnfit bool `toml:"use_unfit"`
	// Resample converts recordings at another sample rate to the rate of the stimulus or, for music
	// and speech, to the higher of the two rates.
	Resample bool `toml:"resample"`

	// Uncertainty states the components of uncertainty that the recordings do not show.
	Uncertainty []Component `toml:"uncertainty"`

	Headphones Headphones `toml:"headphones"`
	Notes      Notes      `toml:"notes"`
	Rig        Rig        `toml:"rig"`
	Stimulus   Stimulus   `toml:"stimulus"`
	Direct     StereoFile `toml:"direct"`
	// DirectAfter is a second direct recording, made at the end: it shows how far the rig drifted.
	DirectAfter StereoFile  `toml:"direct_after"`
	Seatings    []Seating   `toml:"seating"`
	Programmes  []Programme `toml:"programme"`
	Target      Target      `toml:"target"`
	Claims      []Claim     `toml:"claim"`
	Calibrator  Calibrator  `toml:"calibrator"`
	Drive       Drive       `toml:"drive"`
	Amplifier   Amplifier   `toml:"amplifier"`

	ImpedanceFile ImpedanceFile `toml:"impedance"`
	Isolation     Isolation     `toml:"isolation"`
	Spill         Spill         `toml:"spill"`
	Rivals        []RivalEntry  `toml:"rival"`
	// Compares are the comparisons of conditions. Without any, every two conditions are compared.
	Compares []Compare `toml:"compare"`

	file   string          // the session file; "" if not read from a file
	folder string          // of the session file
	played *sweep.Stimulus // nil until first used

	playedHolds  []recognise.Content // content recognised in it; nil if the file states its settings
	playedNotes  []string            // notes about it
	playedDoubts []response.Finding

	directReads bool            // its file could be read, for this session or one with the same key
	keyOfDirect *[32]byte       // of stimulus and direct recording; nil until first used
	direct      *measuredDirect // nil until measured
	like        *measuredDirect // that of another session with the same key; nil if there is none

	toCompare bool              // being compared with another session
	measured  []specimenSeating // its seatings, once measured
}

// Headphones names the pair.
type Headphones struct {
	Name string `toml:"name"`
	// Kind in words: "closed, over the ear".
	Kind string `toml:"kind"`
	// Specimen names the specimen of the model, if several were measured.
	Specimen string `toml:"specimen"`
}

// Notes are the reviewer's own words, in Markdown. The page shows them apart from the measurements.
// An image in them, ![the pads](pads.jpg), is a photograph beside the session file. Price and
// availability are printed as given.
type Notes struct {
	Text         string `toml:"text"` // without a section
	Sound        string `toml:"sound"`
	Comfort      string `toml:"comfort"`
	Build        string `toml:"build"`
	Use          string `toml:"use"`
	Price        string `toml:"price"`
	Availability string `toml:"availability"`
}

// Rig describes the rig.
type Rig struct {
	// Name is the rig in words. Only curves from the same rig are compared.
	Name string `toml:"name"`
	// Ceiling is the highest frequency in Hz at which the microphone's response is known; 0 means
	// that the stimulus sets the limit.
	Ceiling float64 `toml:"ceiling"`
	// Subtract subtracts the interface's harmonics from those of the headphones, as complex
	// numbers. Without it they set the floor.
	Subtract bool `toml:"subtract"`
	// Microphone is a file with the microphone's error: frequency in Hz and dB, positive where it
	// reads too high. The error is subtracted. Outside the file's range nothing is known.
	Microphone string `toml:"microphone"`
	// Field is a file with the level at the rig's ear relative to the field for which exposure
	// limits are stated: frequency in Hz, dB, and the standard uncertainty if a comment names the
	// third column so. It is subtracted from levels in dB(A). Without it they are at the ear of
	// this rig.
	Field string `toml:"field"`
	// MicrophoneRight is the file of the right side's microphone, if there were two microphones.
	MicrophoneRight string `toml:"microphone_right"`
	// Uncertainty is the standard uncertainty in dB of microphone and positioning that the scatter
	// of the seatings does not show. It is common to everything on the rig, so it cancels in left
	// less right and between pairs.
	Uncertainty float64 `toml:"uncertainty"`
}

// Component is a component of uncertainty.
type Component struct {
	// Name is microphone, coupler, placement, drift, samples, temperature or pressure, or any other
	// name with CommonTo.
	Name     string `toml:"name"`
	CommonTo string `toml:"common_to"` // seating, side, microphone, pair, rig or everything
	// DB is the standard uncertainty in dB, with Count that of one sample. File is a table of
	// frequencies and standard uncertainties.
	DB   float64 `toml:"db"`
	File string  `toml:"file"`
	// Octaves is the distance over which its errors are correlated; 0 means the usual one. OneValue
	// means one error at all frequencies.
	Octaves  float64 `toml:"octaves"`
	OneValue bool    `toml:"one_value"`
	// Count is the number of samples from which DB was found. The pair then stands for their mean.
	Count int `toml:"count"`
}

// File is one channel of a recording.
type File struct {
	File    string `toml:"file"`
	Channel int    `toml:"channel"` // from 1; 0 means the first, or the side's own in a two-channel file
	Play    int    `toml:"play"`    // which play of the stimulus, from 1, of a file that holds several; 0 means the only one
	// From and To are the limits in seconds of the part to use in a file of several pieces; 0 means
	// the file's beginning and end.
	From float64 `toml:"from"`
	To   float64 `toml:"to"`
}

// StereoFile is a recording with a channel for each side.
type StereoFile struct {
	File  string `toml:"file"`
	Left  int    `toml:"left"`  // channel, from 1; 0 means the first
	Right int    `toml:"right"` // 0 means the second, or the first if there is only one
	Play  int    `toml:"play"`  // which play of the stimulus, from 1, of a file that holds several; 0 means the only one
}

// Seating is one placement of the pair on the rig or, with EveryPlay, one placement for each play
// of the stimulus in a running recording.
type Seating struct {
	Name  string `toml:"name"`
	Left  File   `toml:"left"`
	Right File   `toml:"right"`
	// EveryPlay makes a seating of every whole play in its files that no play = names. Plays of two
	// files are matched in their order.
	EveryPlay bool `toml:"every_play"`
	// Condition in words, such as "new" or "with glasses". The review covers the condition of the
	// first seating. The others are compared with it.
	Condition string `toml:"condition"`
	// Placement is a name shared by seatings in several conditions between which the pair was not
	// lifted.
	Placement string `toml:"placement"`
	// Specimen names the specimen of the model; empty means that of [headphones].
	Specimen string `toml:"specimen"`
}

// Programme is music or speech, recorded direct and through the headphones.
type Programme struct {
	Name    string `toml:"name"`
	Kind    string `toml:"kind"` // "music", "speech" or "effects"
	Side    string `toml:"side"` // of the pair that through is: "left", or "right"; empty means the first that was measured
	Direct  File   `toml:"direct"`
	Through File   `toml:"through"`
	// Left and Right are the recordings through each side. They replace Side and Through. If Direct
	// has two channels and names none, each side is compared with its own channel.
	Left  File `toml:"left"`
	Right File `toml:"right"`
	// Seating by name, in a session of music and speech alone. If empty, the first entry of a piece
	// belongs to the first seating, the second to the second, and so on.
	Seating string `toml:"seating"`
	// The excerpt to be compared by ear. Excerpt is its length in s, 3 to 20; 0 means 10, or less
	// if the piece is shorter. ExcerptFrom is its start in the direct recording in s; 0 means the
	// most informative part.
	Excerpt     float64 `toml:"excerpt"`
	ExcerptFrom float64 `toml:"excerpt_from"`
}

// Target is the target for the pair: a file, another session's pair or, with neither, a flat
// response.
type Target struct {
	File      string  `toml:"file"`      // of frequencies and levels
	Pair      string  `toml:"pair"`      // a session file
	Tolerance float64 `toml:"tolerance"` // ± dB; 0 means 3
	Low       float64 `toml:"low"`       // Hz; 0 means 20
	High      float64 `toml:"high"`      // Hz; 0 means 20 000
	// OtherRig allows a target from another rig; the report then says so.
	OtherRig bool `toml:"other_rig"`
}

// RivalEntry is a pair to compare with.
type RivalEntry struct {
	Session string `toml:"session"` // its session file
	// Chosen makes this the pair with which all others are compared frequency by frequency. At most
	// one rival may be chosen. Without one, it is the pair itself.
	Chosen bool `toml:"chosen"`
}

// Calibrator is a recording of a sound calibrator on the microphone, at the
// gain of the recordings through the headphones.
type Calibrator struct {
	File      string  `toml:"file"`      // the recording of its tone
	Channel   int     `toml:"channel"`   // from 1; 0 means the first
	Level     float64 `toml:"level"`     // dB SPL; 0 means 94
	Frequency float64 `toml:"frequency"` // Hz; 0 means 1000
	Tolerance float64 `toml:"tolerance"` // ± dB of the calibrator; 0 means class 2
}

// Drive says how the headphones were driven: the voltage at their terminals.
type Drive struct {
	Volts       float64 `toml:"volts"`       // rms, of a sine, headphones connected
	Peak        float64 `toml:"peak"`        // dBFS, of that sine in its file
	Uncertainty float64 `toml:"uncertainty"` // standard, per cent of the voltage; 0 means 1
	Impedance   float64 `toml:"impedance"`   // ohm, measured at 1 kHz; 0 means not known
	// ImpedanceUncertainty is standard, in per cent; 0 means 5.
	ImpedanceUncertainty float64 `toml:"impedance_uncertainty"`
}

// Amplifier is one that readers may use, with its highest output into headphones.
type Amplifier struct {
	Name         string  `toml:"name"`
	MaxVolts     float64 `toml:"max_volts"`     // rms
	MaxMilliamps float64 `toml:"max_milliamps"` // rms
	OutputOhms   float64 `toml:"output_ohms"`
}

// ImpedanceFile is a recording of noise across a known resistor and the
// headphones in series: one channel has the voltage across both, the other that
// across the headphones alone.
type ImpedanceFile struct {
	File   string  `toml:"file"`
	Source int     `toml:"source"` // channel, from 1; 0 means the first
	Load   int     `toml:"load"`   // 0 means the second
	Series float64 `toml:"series"` // ohm
	// Reference is the same recording with a resistor of Known ohm in place of the headphones. It
	// corrects the difference between the channels.
	Reference string  `toml:"reference"`
	Known     float64 `toml:"known"`
	// Tolerance of the resistors in per cent; 0 means 1.
	Tolerance float64 `toml:"tolerance"`
}

// Isolation is noise from outside, recorded without headphones and under the
// cup.
type Isolation struct {
	Open       string `toml:"open"`       // without headphones
	Covered    string `toml:"covered"`    // under the cup
	Background string `toml:"background"` // under the cup, while the noise is off
}

// Spill is the sound beside the headphones while they play.
type Spill struct {
	Beside     string  `toml:"beside"`     // while they play
	Background string  `toml:"background"` // at the same place, while they do not play
	Metres     float64 `toml:"metres"`     // from the cup to the microphone; 0 means 0.5
}
