package fitness

import (
	"slices"

	"example.com/earnest/response"
)

// Unexported parts for package fitness_test.

func (r *Report) AtLeast(s response.Severity) []response.Finding {
	return slices.DeleteFunc(slices.Clone(r.Findings), func(f response.Finding) bool { return f.Severity < s })
}

func (r *Report) Of(k response.FindingKind) []response.Finding {
	return slices.DeleteFunc(slices.Clone(r.Findings), func(f response.Finding) bool { return f.Kind != k })
}
