package bench

import "math"

// Quantity is a setting: its name in addresses and forms, its label, its range, and values worth
// trying.
type Quantity struct {
	Name, Label, Unit string  // name in addresses, label for people, and unit after a number
	Min, Max          float64 // in that unit
	None              bool    // it may be absent
	Whole             bool    // only whole numbers are allowed
	Choices           []Choice
	field             func(*Settings) *float64
}

// Choice is a value worth trying. If Label is empty, the number with its unit is the label.
type Choice struct {
	Value float64 // in the quantity's unit
	Label string
}

// Groups are the groups of quantities, in the order of a measurement.
var Groups = []struct {
	Name       string
	Quantities []Quantity
}{
	{"What is played", []Quantity{
		{"duration", "Sweep length", "s", 0.35, 4, false, false, choices(0.35, 0.7, 1, 2, 4),
			func(s *Settings) *float64 { return &s.Duration }},
		{"level", "Sweep level", "dBFS", -60, 0, false, false, choices(-60, -50, -40, -30, -20, -12, -6, 0),
			func(s *Settings) *float64 { return &s.Level }},
	}},
	{"The pair", []Quantity{
		{"second", "Second harmonic", "dB", -100, -20, true, false, choices(off, -80, -60, -50, -40, -30, -20),
			func(s *Settings) *float64 { return &s.Second }},
		{"third", "Third harmonic", "dB", -100, -20, true, false, choices(off, -80, -60, -50, -40, -30, -20),
			func(s *Settings) *float64 { return &s.Third }},
		{"seatings", "Times put on", "",
			1, 4, false, true, choices(1, 2, 3, 4), func(s *Settings) *float64 { return &s.Seatings }},
		{"spread", "Each seating differs by", "dB", 0, 4, false, false,
			[]Choice{{0, "0 dB, not moved"}, {0.5, ""}, {1, "1 dB, with care"}, {2, ""}, {4, "4 dB, careless"}},
			func(s *Settings) *float64 { return &s.Spread }},
	}},
	{"The room and the recorder", []Quantity{
		{"noise", "Noise", "dBFS", -100, -20, true, false, choices(off, -100, -80, -60, -50, -40, -30, -20),
			func(s *Settings) *float64 { return &s.Noise }},
		{"pink", "Colour of the noise", "", 0, 1, false, false,
			[]Choice{{0, "white"}, {0.5, "half and half"}, {1, "pink"}},
			func(s *Settings) *float64 { return &s.Pink }},
		{"reflection", "Reflection", "dB", -40, -3, true, false, choices(off, -40, -30, -20, -10, -6, -3),
			func(s *Settings) *float64 { return &s.Reflection }},
		{"delay", "Reflection comes after", "ms", 0.2, 100, false, false, choices(0.2, 0.5, 1, 2, 5, 10, 20, 50, 100),
			func(s *Settings) *float64 { return &s.Delay }},
		{"drift", "Clock drift", "ppm", -200, 200, false, false, choices(-200, -50, -10, 0, 10, 50, 200),
			func(s *Settings) *float64 { return &s.Drift }},
	}},
	{"The analysis", []Quantity{
		{"clock", "Drift corrected", "", 0, 1, false, true, yesOrNo, func(s *Settings) *float64 { return &s.Clock }},
		{"direct", "Direct recording divided out", "",
			0, 1, false, true, yesOrNo, func(s *Settings) *float64 { return &s.Direct }},
		{"before", "Window before the peak", "ms", 1, 200, false, false, choices(1, 5, 20, 60, 100, 150, 200),
			func(s *Settings) *float64 { return &s.Before }},
		{"after", "Window after the peak", "ms", 2, 500, false, false, choices(2, 5, 10, 20, 50, 100, 300, 500),
			func(s *Settings) *float64 { return &s.After }},
		{"smoothing", "Smoothing", "", Hearing, 96, false, true,
			[]Choice{{0, "none"}, {48, "1/48 octave"}, {24, "1/24 octave"}, {12, "1/12 octave"}, {6, "1/6 octave"},
				{3, "1/3 octave"}, {1, "one octave"}, {Hearing, "bands of hearing"}},
			func(s *Settings) *float64 { return &s.Smoothing }},
		{"axis", "Frequency axis", "", 0, 1, false, true, []Choice{{0, "logarithmic"}, {1, "linear"}},
			func(s *Settings) *float64 { return &s.Linear }},
	}},
}

var (
	off     = math.Inf(-1)
	yesOrNo = []Choice{{1, "yes"}, {0, "no"}}
)

func choices(values ...float64) []Choice {
	out := make([]Choice, len(values))
	for i, v := range values {
		out[i].Value = v
	}
	return out
}

// Quantities lists the quantities of all groups.
var Quantities = func() []Quantity {
	var all []Quantity
	for _, g := range Groups {
		all = append(all, g.Quantities...)
	}
	return all
}()
