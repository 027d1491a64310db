package level_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// From a calibrator to the time that programme may be heard: the calibrator's tone was recorded at
// −23.0 dBFS rms, and the programme, here one tone, 6 dB lower.
func Example() {
	calibrator := level.Calibrator{Level: 94, Frequency: 1000, Tolerance: level.Class1}
	sensitivity, err := calibrator.Sensitivity(response.Figure{Value: -23, Uncertainty: 0.02, Unit: level.RecordedLevel})
	if err != nil {
		fmt.Println(err)
		return
	}
	meter := level.Meter{SampleRate: 48000, Sensitivity: sensitivity}
	programme := make([]float64, 4*48000)
	for i := range programme {
		programme[i] = math.Sqrt2 * math.Pow(10, -29.0/20) * math.Sin(2*math.Pi*1000*float64(i)/48000)
	}
	sound, err := meter.Measure(programme)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("level", sound.A)
	fmt.Printf("crest %.1f dB\n", sound.Crest.Value)
	for _, limit := range []level.Limit{level.Occupational, level.Recreational} {
		allowance, err := limit.Allow(sound.A)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s: %.1f h, to be sure %.1f h, of each %.0f h\n", limit.Name, allowance.Hours, allowance.AtMost, limit.Period.Hours())
	}
	// Output:
	// level 88.00 dB(A) with u = 0.23 dB(A)
	// crest 3.0 dB
	// at work: 4.0 h, to be sure 3.6 h, of each 24 h
	// listening, adults: 6.3 h, to be sure 5.7 h, of each 168 h
}

// A microphone known from 200 Hz to 8 kHz limits what is known of the headphones.
func ExampleReadCalibration() {
	file := "sensitivity 12.5 mV/Pa\n" +
		"200 0.0\n1000 0.0\n4000 0.8\n8000 2.0\n"
	microphone, err := level.ReadCalibration(strings.NewReader(file), "microphone.txt")
	if err != nil {
		fmt.Println(err)
		return
	}
	measured, err := response.NewCurve([]float64{100, 1000, 4000, 16000}, []float64{90, 90, 92.8, 85})
	if err != nil {
		fmt.Println(err)
		return
	}
	corrected, err := microphone.Correct(measured)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(microphone.Sensitivity)
	for i, f := range corrected.Frequency {
		fmt.Printf("%s: %.1f dB\n", response.FormatFrequency(f), corrected.Level[i])
	}
	fmt.Println(microphone.Findings[0])
	// Output:
	// sensitivity 12.5 mV/Pa
	// 100 Hz: NaN dB
	// 1 kHz: 90.0 dB
	// 4 kHz: 92.0 dB
	// 16 kHz: NaN dB
	// calibrated over 200 Hz–8 kHz only: nothing is known over 20 Hz–200 Hz, 3.3 octaves of what is heard
}

// The level that a small amplifier reaches with a pair, and the voltage that this takes.
func ExampleAmplifier_MaxSPL() {
	amplifier := level.Amplifier{
		MaxVoltage:      response.Figure{Value: 1, Unit: level.Volt},
		MaxCurrent:      response.Figure{Value: 0.04, Unit: level.Ampere},
		OutputImpedance: response.Figure{Value: 2, Unit: level.Ohm},
	}
	most, err := amplifier.MaxSPL(
		response.Figure{Value: 102.2, Uncertainty: 1, Unit: level.SoundPerVolt},
		response.Figure{Value: 300, Uncertainty: 10, Unit: level.Ohm})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("the amplifier reaches", most.Level, "and is limited by", most.By)
	// Output:
	// the amplifier reaches 102.1 dB SPL with u = 1.0 dB SPL and is limited by voltage
}

// The impedance of a resistor behind a resistor, and its loss on an output of 120 Ω.
func ExampleDivider() {
	source := noise(1, 0.1, 6)
	load := scaled(source, 32.0/(32+68)) // 32 Ω behind 68 Ω
	ratio, err := level.RatioFromNoise(source, load, 48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	divider := level.Divider{Series: response.Figure{Value: 68, Uncertainty: 0.4, Unit: level.Ohm}}
	z, err := divider.Impedance(ratio)
	if err != nil {
		fmt.Println(err)
		return
	}
	loss, err := level.OutputLoss(z, response.Figure{Value: 120, Unit: level.Ohm})
	if err != nil {
		fmt.Println(err)
		return
	}
	lowest, _ := z.Lowest(response.Band{Low: 20, High: 20000})
	fmt.Println(lowest)
	fmt.Printf("%.2f dB at 1 kHz\n", loss.At(1000))
	fmt.Println(z.Findings[0])
	// Output:
	// 32.00 Ω with u = 0.19 Ω
	// -13.53 dB at 1 kHz
	// the channels were taken to have the same gain; measure a known resistor in place of the load to correct for their difference
}

// A channel on the wrong input gives an error, not a result.
func ExampleDivider_swapped() {
	source := noise(1, 0.1, 6)
	load := scaled(source, 0.32)
	ratio, err := level.RatioFromNoise(load, source, 48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	_, err = level.Divider{Series: response.Figure{Value: 68, Unit: level.Ohm}}.Impedance(ratio)
	fmt.Println(err)
	// Output:
	// level: impedance: channels swapped: the load channel carries 3.12 times the voltage of the source channel; a load behind a resistor cannot: exchange the two, or set both inputs to one gain
}

// The loss of a cup, here 20 dB at all frequencies. It is not known where the room hums.
func ExampleInsertionLoss() {
	loss, err := level.InsertionLoss(level.NoiseRecordings{
		SampleRate: 48000,
		Open:       noise(1, 0.1, 5),
		Covered:    noise(2, 0.01, 5),
		Background: sum(noise(3, 1e-4, 5), sine(500, 0.0005, 5)),
		Band:       response.Band{Low: 500, High: 1000},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, b := range loss.Bands {
		if loss.Reason[i] != "" {
			fmt.Printf("%s not known: %s\n", response.FormatFrequency(b.Nominal), loss.Reason[i])
			continue
		}
		fmt.Printf("%s %.0f dB\n", response.FormatFrequency(b.Nominal), loss.Curve.Level[i])
	}
	// Output:
	// 500 Hz not known: under the cup: 2.7 dB above the background, where 10 dB are needed
	// 630 Hz 20 dB
	// 800 Hz 20 dB
	// 1 kHz 20 dB
}

const rate = 48000 // samples a second

// sine returns a sine of an rms at f Hz.
func sine(f, rms, seconds float64) []float64 {
	x := make([]float64, int(seconds*rate))
	for i := range x {
		x[i] = math.Sqrt2 * rms * math.Sin(2*math.Pi*f*float64(i)/rate)
	}
	return x
}

// noise returns white Gaussian noise.
func noise(seed uint64, rms, seconds float64) []float64 {
	random := rand.New(rand.NewPCG(seed, 7))
	x := make([]float64, int(seconds*rate))
	for i := range x {
		x[i] = rms * random.NormFloat64()
	}
	return x
}

// sum adds two signals of equal length.
func sum(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] + b[i]
	}
	return out
}

// scaled returns a signal times a factor.
func scaled(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = by * v
	}
	return out
}
