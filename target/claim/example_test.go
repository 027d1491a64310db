package claim_test

import (
	"fmt"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
)

// A data sheet, line by line.
func Example() {
	measured := claim.Evidence{
		Evidence: target.Evidence{THD: []distortion.THD{{Frequency: 1000, Level: 94, Reading: distortion.Reading{Figure: response.Figure{Value: 0.12, Uncertainty: 0.01, Unit: "%"}, AsRead: 0.12}}}},
		Impedance: []claim.FigureAt{
			{Frequency: 1000, Figure: response.Figure{Value: 33, Uncertainty: 0.2, Unit: "Ω"}},
			{Frequency: 3000, Figure: response.Figure{Value: 31, Uncertainty: 0.2, Unit: "Ω"}},
		},
	}
	for _, c := range []claim.Claim{
		claim.Distortion{At: 1000, Level: 94, Percent: 0.2},
		claim.Distortion{At: 1000, Percent: 0.2},
		claim.Impedance{Ohms: 32, Tolerance: 10},
		claim.FrequencyRange{Band: response.Band{Low: 20, High: 20000}},
	} {
		v, err := claim.Judge(c, measured)
		if err != nil {
			panic(err)
		}
		fmt.Printf("%s: %v\n  %s\n", v.Claim, v.Outcome, v.Reason)
	}
	// Output:
	// distortion of at most 0.2 % at 1 kHz and 94 dB SPL: met
	//   the distortion at 1 kHz and 94 dB SPL is 0.120 % (95 % confidence: 0.100 to 0.140 %), within at most 0.2 %
	// distortion of at most 0.2 % at 1 kHz: cannot tell here
	//   the claim does not say at which level, and distortion grows with level; measured was 0.12 % at 1 kHz and 94 dB SPL
	// impedance of 32 Ω ± 10 %: met
	//   the impedance at 1 kHz is 33.00 Ω (95 % confidence: 32.61 to 33.39 Ω), within 32 Ω ± 10 %; a rated impedance is compared with that at 1 kHz and with the lowest one
	// 20 Hz–20 kHz: cannot tell here
	//   the response was not measured
}
