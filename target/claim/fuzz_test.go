package claim_test

import (
	"testing"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/target/claim"
)

// For any claim and evidence, Judge returns an error or a verdict, or panics where documented.
func FuzzJudge(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("20 Hz to 20 kHz within 3 dB, 32 ohms"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		var (
			band        claim.FrequencyRange
			match       claim.Match
			thd         claim.Distortion
			loudest     claim.MaximumLevel
			sensitivity claim.Sensitivity
			impedance   claim.Impedance
			evidence    claim.Evidence
		)
		s.Fill(&band)
		s.Fill(&match)
		s.Fill(&thd)
		s.Fill(&loudest)
		s.Fill(&sensitivity)
		s.Fill(&impedance)
		s.Fill(&evidence)
		for _, c := range []claim.Claim{band, match, thd, loudest, sensitivity, impedance} {
			drawn.Harmless(t, func() {
				_ = c.String()
				_, _ = claim.Judge(c, evidence)
			}, "claim", "target", "response", "distortion")
		}
	})
}
