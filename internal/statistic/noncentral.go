package statistic

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// NoncentralF returns the probability that a noncentral F variable of n and k degrees of freedom
// and noncentrality λ is at most x: a Poisson mixture of incomplete beta functions (Johnson, Kotz,
// Balakrishnan, Continuous Univariate Distributions 2, 1995, chapter 30, from memory),
//
//	Σ exp(−λ/2) (λ/2)^j/j! · I_y(n/2 + j, k/2),  y = nx/(nx + k).
//
// k may be infinite. The sum takes about 13 √λ steps.
func NoncentralF(x, n, k, lambda float64) float64 {
	if !(x > 0) {
		return 0
	}
	b := min(k, 1e6) / 2
	y := n * x / (n*x + 2*b)
	mean := max(lambda/2, 1e-12)
	top := math.Ceil(mean + 9*math.Sqrt(mean) + 20)
	least := max(0, math.Floor(mean-9*math.Sqrt(mean)-20))
	// From the top down every step of I is added: I_y(a, b) − I_y(a+1, b) = y^a (1−y)^b / (a B(a,
	// b)).
	a := n/2 + top
	share, step := mathext.RegIncBeta(a, b, y), math.Exp(a*math.Log(y)+b*math.Log1p(-y)-mathext.Lbeta(a, b))/a
	factorial, _ := math.Lgamma(top + 1)
	weight := math.Exp(top*math.Log(mean) - mean - factorial)
	var sum float64
	for j := top; j >= least; j-- {
		sum += weight * share
		weight *= j / mean
		step *= a / (y * (a + b - 1))
		a--
		share += step
	}
	return sum
}
