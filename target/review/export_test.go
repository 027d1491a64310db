package review

import "example.com/earnest/response"

// PerSeating lets tests in package review_test ask for what the judgement is made of.
func (r *Results) PerSeating() (mean, difference []response.Curve, err error) { return r.perSeating() }
