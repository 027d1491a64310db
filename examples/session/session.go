// Package session reads the session file, in which a reviewer says what was
// measured, and measures what it names. The file is TOML (toml.io):
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
// What makes the response unsure and no recording shows is stated above all
// sections, in dB, k = 1:
//
//	uncertainty = [
//		{ name = "microphone", db = 0.4 },           # its certificate, where its file has no column for it
//		{ name = "coupler", file = "coupler.txt" },  # a table: frequency and dB
//		{ name = "placement", db = 0.3 },            # that all seatings share
//		{ name = "samples", db = 0.8, count = 3 },   # how much three samples differed
//	]
//
// A recorder that was left running gives one file of several seatings, and of
// the direct recording too if one likes:
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
// What was played is read from stimulus.wav beside the session file, as the stimulus example wrote
// it. Where that is not there, it is said:
//
//	[stimulus]
//	seconds = 6.0
//	level   = -12.0
//
// or, where another program made it, what was played is named, whatever it is; the direct recording
// will do:
//
//	[stimulus]
//	file = "played.wav"
//
// A session of music and speech alone has neither [direct] nor [[seating]], but each piece recorded both
// ways; the second time that a piece is named is of the second seating, unless it says which:
//
//	[[programme]]
//	name   = "slow song"
//	direct = { file = "song-direct.wav" }
//	left   = { file = "song-left.wav" }
//	right  = { file = "song-right.wav" }
//
// Whether something changed, by conditions of which each seating names one, in the order in which they were
// recorded; other sessions of the pair on the same rig may take part:
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
// Everything else has a usual value or may be left out. Paths are relative to
// the session file.
package session

import (
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
)

// Session is a session file.
type Session struct {
	// Title heads the report.
	Title string `toml:"title"`
	// Date of the recordings, as it is to be printed.
	Date string `toml:"date"`
	// UseUnfit measures recordings that are not fit to use too; the findings
	// stay on top of the report.
	UseUnfit bool `toml:"use_unfit"`
	// Resample brings recordings at another sample rate to that of what was played or, of music and speech,
	// to the higher rate of the two.
	Resample bool `toml:"resample"`

	// Uncertainty states what makes the response unsure that the recordings do not show, a line each.
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
	// Compares are the questions whether something changed. Without any, every two conditions are compared.
	Compares []Compare `toml:"compare"`

	file   string          // the session file; empty where it was not read from one
	folder string          // of the session file
	played *sweep.Stimulus // nil until it was asked for

	playedHolds  []recognise.Content // what was recognised in it; nil where it says itself
	playedNotes  []string            // what is to be said of it
	playedDoubts []response.Finding

	toCompare bool              // with another session, which asks for
	measured  []specimenSeating // these, once it was measured
}

// Headphones says what was measured.
type Headphones struct {
	Name string `toml:"name"`
	// Kind in words: "closed, over the ear".
	Kind string `toml:"kind"`
	// Specimen is which of the model it is, where several were measured.
	Specimen string `toml:"specimen"`
}

// Notes are the reviewer's own words, in Markdown, which the page sets apart from what was measured. An image in
// them, ![the pads](pads.jpg), is a photograph beside the session file. Price and availability are printed as given.
type Notes struct {
	Text         string `toml:"text"` // of no section
	Sound        string `toml:"sound"`
	Comfort      string `toml:"comfort"`
	Build        string `toml:"build"`
	Use          string `toml:"use"`
	Price        string `toml:"price"`
	Availability string `toml:"availability"`
}

// Rig says what it was measured on.
type Rig struct {
	// Name is the rig in words. Curves are compared only where it is the same.
	Name string `toml:"name"`
	// Ceiling is the highest frequency in Hz at which the microphone is known;
	// 0 means the stimulus decides.
	Ceiling float64 `toml:"ceiling"`
	// Subtract takes the interface's own harmonics out of those of the
	// headphones, as complex numbers, instead of letting them set the floor.
	Subtract bool `toml:"subtract"`
	// Microphone is a file of what the microphone reads too high: frequency and
	// dB. It is taken off, and its range limits what is known.
	Microphone string `toml:"microphone"`
	// Field is a file of what the rig's ear reads higher than the field that
	// limits of exposure are for: frequency and dB, and the standard
	// uncertainty if a comment names the third column so. It is taken off
	// levels in dB(A); without it they are at the ear of this rig.
	Field string `toml:"field"`
	// MicrophoneRight is that of the right side's microphone where two recorded.
	MicrophoneRight string `toml:"microphone_right"`
	// Uncertainty is the standard uncertainty in dB of microphone and
	// positioning that the spread of the seatings does not show. Everything on
	// the rig has it in common, so that it cancels in left less right and
	// between pairs.
	Uncertainty float64 `toml:"uncertainty"`
}

// Component is something that makes the response unsure.
type Component struct {
	// Name is microphone, coupler, placement, drift, samples, temperature or
	// pressure, or another one, which then says what it is common to.
	Name     string `toml:"name"`
	CommonTo string `toml:"common_to"` // seating, side, microphone, pair, rig or everything
	// DB is the standard uncertainty in dB, or that of one sample; File is a
	// table of frequencies and standard uncertainties.
	DB   float64 `toml:"db"`
	File string  `toml:"file"`
	// Octaves is over how many its errors keep together, 0 for what is usual;
	// OneValue says that there is one error at all frequencies.
	Octaves  float64 `toml:"octaves"`
	OneValue bool    `toml:"one_value"`
	// Count of the samples that DB was found from: the pair stands for their
	// mean.
	Count int `toml:"count"`
}

// File is one channel of a recording.
type File struct {
	File    string `toml:"file"`
	Channel int    `toml:"channel"` // from 1; 0 means the first, or the side's own in a two-channel file
	Play    int    `toml:"play"`    // which play of the stimulus, from 1, of a file that holds several; 0 means the only one
	// From and To are the part in seconds of a file that holds several pieces of music and speech; 0 means its
	// beginning, and its end.
	From float64 `toml:"from"`
	To   float64 `toml:"to"`
}

// StereoFile is a recording with a channel for each side.
type StereoFile struct {
	File  string `toml:"file"`
	Left  int    `toml:"left"`  // channel, from 1; 0 means the first
	Right int    `toml:"right"` // 0 means the second, or the first where there is only one
	Play  int    `toml:"play"`  // which play of the stimulus, from 1, of a file that holds several; 0 means the only one
}

// Seating is the pair put on the rig once, or, with EveryPlay, each time that the stimulus was
// played while the recorder ran on.
type Seating struct {
	Name  string `toml:"name"`
	Left  File   `toml:"left"`
	Right File   `toml:"right"`
	// EveryPlay makes a seating of every play in its files that is whole and that no play = names.
	// Plays of two files belong together in their order.
	EveryPlay bool `toml:"every_play"`
	// Condition in words, such as "new" or "with glasses". The review is of the condition of the first
	// seating; the others are compared with it.
	Condition string `toml:"condition"`
	// Placement is the same for seatings in several conditions between which the pair was not lifted.
	Placement string `toml:"placement"`
	// Specimen is which of the model it is; empty means that of [headphones].
	Specimen string `toml:"specimen"`
}

// Programme is music or speech recorded both ways.
type Programme struct {
	Name    string `toml:"name"`
	Kind    string `toml:"kind"` // "music", "speech" or "effects"
	Side    string `toml:"side"` // of the pair that through is: "left", or "right"; empty means the first that was measured
	Direct  File   `toml:"direct"`
	Through File   `toml:"through"`
	// Left and Right are what was recorded through each side, in place of Side and Through. Where Direct has
	// two channels and names none, each side is compared with its own.
	Left  File `toml:"left"`
	Right File `toml:"right"`
	// Seating by name, in a session of music and speech alone; empty means the first for the first time that
	// a piece is named, the second for the second, and so on.
	Seating string `toml:"seating"`
	// The part that is written to be compared by ear: seconds from 3 to 20, 0 for 10 (or all that there
	// is, if that is less), and where it begins in the direct recording, 0 for where the material says most.
	Excerpt     float64 `toml:"excerpt"`
	ExcerptFrom float64 `toml:"excerpt_from"`
}

// Target is what the pair is judged against: a file, another session's pair,
// or, with neither, a flat response.
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
	// Chosen makes it the one that all others are compared with frequency by frequency; one rival at most is.
	// Without it that is the pair itself.
	Chosen bool `toml:"chosen"`
}

// Calibrator is a recording of a sound calibrator on the microphone, at the
// gain of the recordings through the headphones.
type Calibrator struct {
	File      string  `toml:"file"`      // the recording of its tone
	Channel   int     `toml:"channel"`   // from 1; 0 means the first
	Level     float64 `toml:"level"`     // dB SPL; 0 means 94
	Frequency float64 `toml:"frequency"` // Hz; 0 means 1000
	Tolerance float64 `toml:"tolerance"` // ± dB of the calibrator; 0 means that of class 2
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

// Amplifier is one that readers may use: what it can give into headphones.
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
	// Reference is the same with a resistor of Known ohm in place of the
	// headphones; it takes out the difference between the channels.
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

// Spill is what is heard beside the headphones while they play.
type Spill struct {
	Beside     string  `toml:"beside"`     // while they play
	Background string  `toml:"background"` // there, while they do not
	Metres     float64 `toml:"metres"`     // from the cup to the microphone; 0 means 0.5
}
