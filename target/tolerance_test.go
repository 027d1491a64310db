package target_test

import (
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
)

func TestShareWithinTolerance(t *testing.T) {
	line := curveOn(t, []float64{62.5, 16000}, func(x float64) float64 { return x }) // −4 to +4 dB
	rising := curveOn(t, []float64{62.5, 16000}, func(x float64) float64 { return (x + 4) / 4 })
	level := func(dB float64) response.Curve { return target.PlusMinus(dB).Above }
	for name, row := range map[string]struct {
		c    response.Curve
		o    target.Tolerance
		want float64
	}{
		"±1 dB of ±4":               {line, target.PlusMinus(1), 0.25},
		"±0 dB holds nothing":       {line, target.PlusMinus(0), 0},
		"all":                       {line, target.PlusMinus(4), 1},
		"+1 −3 dB":                  {line, target.Tolerance{Above: level(1), Below: level(3)}, 0.5},
		"no limit below":            {line, target.Tolerance{Above: level(1)}, 5. / 8},
		"no limit above":            {line, target.Tolerance{Below: level(0)}, 0.5},
		"grows from 0 to 2 dB":      {curveOn(t, []float64{62.5, 16000}, func(float64) float64 { return 1 }), target.Tolerance{Above: rising, Below: rising}, 0.5},
		"grows beside a slope":      {line, target.Tolerance{Above: rising, Below: rising}, (4./3 + 4./5) / 8}, // |x| = (x + 4)/4 at x = 4/3 and −4/5
		"equal to it is within it":  {curveOn(t, []float64{62.5, 16000}, func(float64) float64 { return 0.1 + 0.2 }), target.PlusMinus(0.3), 1},
		"outside by a hundredth dB": {curveOn(t, []float64{62.5, 16000}, func(float64) float64 { return 0.31 }), target.PlusMinus(0.3), 0},
	} {
		t.Run(name, func(t *testing.T) {
			d := compare(t, row.c, target.Flat(), target.Config{Band: eightOctaves, Align: target.Alignment{None: true}, Tolerance: row.o})
			assert.InDelta(t, row.want, d.Share.Value, 1e-9) // crossings are found exactly
		})
	}
}

func TestToleranceOfTheOptionsThenOfTheTarget(t *testing.T) {
	line := curveOn(t, []float64{62.5, 16000}, func(x float64) float64 { return x })
	to := target.Flat()
	o := target.Config{Band: eightOctaves}
	assert.InDelta(t, 3./4, compare(t, line, to, o).Share.Value, 1e-9, "±3 dB")
	to.Tolerance = target.PlusMinus(2)
	assert.InDelta(t, 2./4, compare(t, line, to, o).Share.Value, 1e-9, "the target's")
	o.Tolerance = target.PlusMinus(1)
	d := compare(t, line, to, o)
	assert.InDelta(t, 1./4, d.Share.Value, 1e-9, "the caller's")
	assert.Equal(t, o.Tolerance, d.Tolerance)
}

func TestToleranceThatCoversLess(t *testing.T) {
	line := curveOn(t, []float64{62.5, 16000}, func(x float64) float64 { return x })
	upper := curveOn(t, []float64{1000, 16000}, func(float64) float64 { return 1 })
	d := compare(t, line, target.Flat(), target.Config{Band: eightOctaves, Tolerance: target.Tolerance{Above: upper, Below: upper}})
	assert.InDelta(t, 1./4, d.Share.Value, 1e-9, "of the four octaves above 1 kHz")
	assert.Equal(t, []string{"the tolerance is stated for 50 % of the judged band; the share within tolerance refers to that part"}, d.Warnings)

	nowhere := upper.Within(response.Band{Low: 17000, High: 18000})
	d = compare(t, line, target.Flat(), target.Config{Band: eightOctaves, Tolerance: target.Tolerance{Above: nowhere, Below: nowhere}})
	assert.False(t, d.Share.Known())
	assert.Equal(t, "not known", d.Share.String())
}
