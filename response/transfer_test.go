package response_test

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// transferOf returns the transfer function of a closed form on the bins of a transform.
func transferOf(sampleRate, n int, valid response.Band, h func(f float64) complex128) *response.Transfer {
	tr := &response.Transfer{SampleRate: sampleRate, Len: n, Valid: valid, Bins: make([]complex128, n/2+1)}
	for k := range tr.Bins {
		tr.Bins[k] = h(tr.Frequency(k))
	}
	return tr
}

func chained(c biquad.Chain, sampleRate float64) func(f float64) complex128 {
	return func(f float64) complex128 { return c.Response(f, sampleRate) }
}

// The interface is in both recordings and cancels.
func TestDirectRecordingTakesTheInterfaceOut(t *testing.T) {
	d := mustDeconvolver(t, mustSweep(t, sweep.Config{Duration: 3 * time.Second}), response.DeconvolverConfig{})
	interfaceFilters := biquad.Chain{biquad.New(biquad.HighPass, 12, 0.7, 0, 48000), biquad.New(biquad.LowPass, 21000, 0.9, 0, 48000)}
	measure := func(after int, filters biquad.Chain) *response.Transfer {
		x := played(d.Sweep(), after)
		filters.Apply(x)
		h, err := d.Impulse(x)
		require.NoError(t, err)
		w, err := h.Window(0, 0)
		require.NoError(t, err)
		return w.Transfer().Delayed(-float64(after) / 48000)
	}
	direct := measure(1000, interfaceFilters)
	through := measure(1480, append(device(48000), interfaceFilters...))
	h, err := through.Divide(direct)
	require.NoError(t, err)
	assert.Equal(t, "direct recording", h.Reference)
	assert.Equal(t, response.Band{Low: 20, High: 20000}, h.Valid)
	level, phase := errorsOver(h, 20, 20000, chained(device(48000), 48000))
	assert.Less(t, level, 0.001, "dB; the effect of regularisation on both cancels too")
	assert.Less(t, phase, 0.01, "degrees")
	assert.False(t, cmplx.IsNaN(h.At(20)) || cmplx.IsNaN(h.At(20000)), "the ends are known")
	assert.True(t, cmplx.IsNaN(h.Bins[0]), "far below the band nothing is known")
	assert.True(t, cmplx.IsNaN(h.Bins[len(h.Bins)-1]), "nor far above")
}

func TestOverNeedsTheSameBins(t *testing.T) {
	a := transferOf(48000, 480, response.AllFrequencies, func(float64) complex128 { return 1 })
	_, err := a.Divide(transferOf(44100, 480, response.AllFrequencies, func(float64) complex128 { return 1 }))
	assert.ErrorContains(t, err, "response: sample rates 48000 Hz and 44100 Hz; record both at one rate")
	_, err = a.Divide(transferOf(48000, 500, response.AllFrequencies, func(float64) complex128 { return 1 }))
	assert.ErrorContains(t, err, "transfer functions of 480 and 500 points; window both to one length")
	nothing := transferOf(48000, 480, response.AllFrequencies, func(float64) complex128 { return 0 })
	h, err := a.Divide(nothing)
	require.NoError(t, err)
	isNaN(t, real(h.Bins[3]), "a direct recording with nothing in it")
	h, err = transferOf(48000, 480, response.Band{Low: 20, High: 100}, func(float64) complex128 { return 1 }).
		Divide(transferOf(48000, 480, response.Band{Low: 200, High: 1000}, func(float64) complex128 { return 1 }))
	require.NoError(t, err)
	assert.True(t, h.Valid.Empty(), "bands that share nothing")
	assert.Empty(t, h.Frequencies())
	assert.Empty(t, h.Magnitude().Level)
	assert.Empty(t, h.Phase())
	assert.Empty(t, h.GroupDelay())
	phase, _ := h.MinimumPhase()
	assert.Empty(t, phase)
	phase, _ = h.ExcessPhase()
	assert.Empty(t, phase)
}

func TestMagnitude(t *testing.T) {
	filters := device(48000)
	tr := transferOf(48000, 4800, response.Band{Low: 20, High: 20000}, chained(filters, 48000))
	tr.Rig, tr.Reference = "flat plate", "direct recording"
	tr.Bins[100] = 0
	c := tr.Magnitude()
	assert.Equal(t, tr.Frequencies(), c.Frequency)
	assert.Equal(t, 20.0, c.Frequency[0], "a band's end that is a bin belongs to it")
	assert.Equal(t, 20000.0, c.Frequency[len(c.Frequency)-1])
	assert.Equal(t, "flat plate", c.Rig)
	assert.Equal(t, "direct recording", c.Reference)
	assert.Equal(t, tr.Valid, c.Valid)
	for i, f := range c.Frequency {
		if f == 1000 {
			isNaN(t, c.Level[i], "nothing at all has no level")
			continue
		}
		require.InDelta(t, 20*math.Log10(cmplx.Abs(filters.Response(f, 48000))), c.Level[i], 1e-9, "%g Hz; double precision", f)
	}
}

func TestAtInterpolatesBetweenBins(t *testing.T) {
	tr := transferOf(1000, 100, response.Band{Low: 15, High: 480}, func(f float64) complex128 { return complex(f, 2*f) })
	assert.Equal(t, complex(20, 40), tr.At(20))
	assert.InDelta(t, 27.5, real(tr.At(27.5)), exact, "linear")
	assert.InDelta(t, 55, imag(tr.At(27.5)), exact, "linear")
	for _, f := range []float64{14, 481, -20, math.NaN(), math.Inf(1)} {
		assert.True(t, cmplx.IsNaN(tr.At(f)), "%v", f)
	}
	all := transferOf(1000, 100, response.AllFrequencies, func(f float64) complex128 { return 1 })
	assert.Equal(t, complex128(1), all.At(500), "the last bin")
	assert.True(t, cmplx.IsNaN(all.At(501)))
}

// Bins of 1 Hz up to 24 Hz.
func TestBandThatHoldsNoBinHasNoFrequencies(t *testing.T) {
	for name, band := range map[string]response.Band{
		"the zero band": {}, "no width": {Low: 5, High: 5}, "upside down": {Low: 7, High: 5}, "between two bins": {Low: 5.2, High: 5.8}, "above them": {Low: 30, High: 40},
	} {
		tr := transferOf(48, 48, band, func(float64) complex128 { return 1 })
		assert.Empty(t, tr.Frequencies(), name)
		_, err := tr.Smoothed([]float64{5}, 3)
		assert.ErrorContains(t, err, "nothing to smooth", name)
	}
	tr := transferOf(48, 48, response.Band{Low: 22.5, High: 30}, func(float64) complex128 { return 1 })
	assert.Equal(t, []float64{23, 24}, tr.Frequencies())
}
