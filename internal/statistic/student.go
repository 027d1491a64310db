package statistic

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// StudentQuantile returns the quantile of Student's t distribution with a number of degrees of
// freedom above 0, for a probability above 0 and below 1.
//
// An approximation (Hill, Comm. ACM 13(10), 1970, algorithm 396; from memory) is corrected by
// steps of third order on the distribution itself. One or two of them are enough, while a
// bisection takes twenty. Beyond 10,000 degrees the approximation is the more exact of the two.
func StudentQuantile(probability, freedom float64) float64 {
	switch {
	case probability == 0.5:
		return 0
	case !(freedom >= 2): // the approximation is for more
		return distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile(probability)
	case probability < 0.5:
		return -StudentQuantile(1-probability, freedom)
	}
	tail := 1 - probability
	x := hill(2*tail, freedom)
	if freedom > 1e4 {
		return x
	}
	above, _ := math.Lgamma((freedom + 1) / 2)
	below, _ := math.Lgamma(freedom / 2)
	scale := math.Exp(above-below) / math.Sqrt(freedom*math.Pi)
	for range 10 {
		square := x * x
		density := scale * math.Pow(1+square/freedom, -(freedom+1)/2)
		step := (mathext.RegIncBeta(freedom/2, 0.5, freedom/(freedom+square))/2 - tail) / density
		step *= 1 + step*x*(freedom+1)/(2*(square+freedom))
		x += step
		if !(math.Abs(step) > 1e-5*x) { // the next step is of the order of its third power
			return x
		}
	}
	return distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile(probability)
}

// hill approximates the quantile that is exceeded, to either side, with a probability p.
func hill(p, n float64) float64 {
	a := 1 / (n - 0.5)
	b := 48 / (a * a)
	c := ((20700*a/b-98)*a-16)*a + 96.36
	d := ((94.5/(b+c)-3)/b + 1) * math.Sqrt(a*math.Pi/2) * n
	y := math.Pow(d*p, 2/n)
	if y <= 0.05+a {
		y = ((1/(((n+6)/(n*y)-0.089*d-0.822)*(n+2)*3)+0.5/(n+4))*y-1)*(n+1)/(n+2) + 1/y
		return math.Sqrt(n * y)
	}
	x := distuv.UnitNormal.Quantile(p / 2)
	y = x * x
	if n < 5 {
		c += 0.3 * (n - 4.5) * (x + 0.6)
	}
	c = (((0.05*d*x-5)*x-7)*x-2)*x + b + c
	y = (((((0.4*y+6.3)*y+36)*y+94.5)/c-y-3)/b + 1) * x
	return math.Sqrt(n * math.Expm1(a*y*y))
}
