package response

import (
	"time"

	"example.com/earnest/sweep"
)

// Unexported parts for package response_test.

func (d *Deconvolver) Sweep() *sweep.Sweep { return d.sweep }

func (h *Impulse) Prominence() float64 { return h.prominence(h.largest()) }

func (c Curve) Propagate(linear func(Curve) float64) Budget { return c.propagate(linear) }

func (h *Impulse) Peak() (int, error) { return h.peak() }

func (n *Noise) Density(f float64) float64 { return n.density(f) }

func (t *Transfer) UnwrappedPhase() []float64 { return t.unwrappedPhase() }

func (c Curve) OctaveWeights() []float64 { return c.octaveWeights() }

func DefaultWindow(s *sweep.Sweep) (before, after time.Duration) { return defaultWindow(s, 0, 0) }
