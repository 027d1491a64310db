package review

import "example.com/earnest/response"

// PerSeating gives tests in package review_test the data behind the judgement.
func (r *Results) PerSeating() (mean, difference []response.Curve, err error) { return r.perSeating() }
