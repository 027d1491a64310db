package programme_test

import "math/rand/v2"

// noisy returns a quick substitute for material: noise that comes and goes, with a first-order
// filter between the two, as in testdata/speed/programme.py.
func noisy(seconds, sampleRate int, seed uint64) (direct, through []float64) {
	random := rand.New(rand.NewPCG(seed, 9))
	direct, through = make([]float64, seconds*sampleRate), make([]float64, seconds*sampleRate)
	const late = 700
	var y float64
	for i := range direct {
		direct[i] = 0.1 * random.NormFloat64() * (0.2 + float64(i/12000%4))
		if i >= late {
			y = 0.3*direct[i-late] + 0.6*y
			through[i] = y + 1e-4*random.NormFloat64()
		}
	}
	return direct, through
}
