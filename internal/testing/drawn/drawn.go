// Package drawn makes values of any type from the bytes of a fuzz run, so that configurations and
// slices in memory can be fuzzed like files.
package drawn

import (
	"math"
	"reflect"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/earnest/response"
)

// Source makes values from bytes. Without bytes it gives zeros.
type Source struct{ bytes []byte }

// From returns a source of b.
func From(b []byte) *Source { return &Source{b} }

// Int returns a number from 0 to n−1.
func (s *Source) Int(n int) int {
	if len(s.bytes) == 0 {
		return 0
	}
	v := int(s.bytes[0])
	s.bytes = s.bytes[1:]
	return v % n
}

// odd are the numbers that break things.
var odd = []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1), 1, -1,
	math.MaxFloat64, -math.MaxFloat64,
	math.SmallestNonzeroFloat64, 1e-300, 1e300, 1e-9, 1e9, 0.5, 20, 1000, 20000, 24000, 48000}

// Number returns a decibel, a level, a frequency or one of the odd numbers.
func (s *Source) Number() float64 {
	v := float64(s.Int(256)) - 128
	switch s.Int(6) {
	case 0:
		return odd[s.Int(len(odd))]
	case 1:
		return v / 128
	case 2:
		return math.Exp2(v / 8) // to 65 kHz
	}
	return v / 4
}

// Slice returns up to most numbers.
func (s *Source) Slice(most int) []float64 {
	x := make([]float64, s.Int(256)*most/255)
	for i := range x {
		x[i] = s.Number()
	}
	return x
}

// Samples returns n numbers within full scale, and a few odd ones now and then.
func (s *Source) Samples(n int) []float64 {
	x := make([]float64, n)
	kind, state := s.Int(4), uint64(s.Int(256))
	for i := range x {
		state = state*6364136223846793005 + 1442695040888963407
		switch kind {
		case 0: // silence
		case 1:
			x[i] = float64(int64(state)) / math.MaxInt64
		case 2:
			x[i] = 0.5 * math.Sin(float64(i)*float64(1+s.Int(2))/10)
		default:
			x[i] = s.Number()
		}
	}
	return x
}

// Curve returns one that NewCurve accepts, of up to 40 points.
func (s *Source) Curve() response.Curve {
	n := 2 + s.Int(39)
	frequency, level := make([]float64, n), make([]float64, n)
	f := 10 + float64(s.Int(256))
	for i := range frequency {
		frequency[i], level[i] = f, s.Number()
		if math.IsInf(level[i], 0) {
			level[i] = math.NaN()
		}
		f *= 1.01 + float64(s.Int(64))/64
	}
	c, err := response.NewCurve(frequency, level)
	if err != nil {
		panic(err)
	}
	if s.Int(2) == 1 {
		c.Uncertainty = make([]float64, n)
		for i := range c.Uncertainty {
			c.Uncertainty[i] = math.Abs(s.Number())
		}
	}
	if s.Int(4) == 0 {
		c.Valid = response.Band{Low: s.Number(), High: s.Number()}
	}
	c.Rig, c.Reference = []string{"", "plate"}[s.Int(2)], []string{"", "20 µPa"}[s.Int(2)]
	return c
}

// words have a meaning somewhere.
var words = []string{"", "Hz", "dB", "dB SPL", "V", "Ω", "%", "dBFS", "music", "left", "\x00", "name"}

// Fill sets all exported parts of the value to which v points. Functions and interfaces stay nil.
func (s *Source) Fill(v any) { s.fill(reflect.ValueOf(v).Elem(), 0) }

func (s *Source) fill(v reflect.Value, depth int) {
	if !v.CanSet() {
		return
	}
	switch one := v.Addr().Interface().(type) {
	case *response.Curve:
		*one = s.Curve()
		return
	case *time.Duration:
		*one = time.Duration([]float64{0, -1, 1e6, 1e8, 1e9, 1e18}[s.Int(6)] * float64(s.Int(10)))
		return
	}
	switch v.Kind() {
	case reflect.Float64:
		v.SetFloat(s.Number())
	case reflect.Int, reflect.Int64:
		v.SetInt([]int64{0, 1, 2, 3, -1, 8, 12, 48000, 44100, math.MinInt64, math.MaxInt64}[s.Int(11)])
	case reflect.Bool:
		v.SetBool(s.Int(2) == 1)
	case reflect.String:
		v.SetString(words[s.Int(len(words))])
	case reflect.Slice:
		most := 3
		if v.Type().Elem().Kind() == reflect.Float64 {
			most = 64
		}
		n := s.Int(most + 1)
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			s.fill(v.Index(i), depth+1)
		}
	case reflect.Pointer:
		if depth < 4 && s.Int(2) == 1 {
			v.Set(reflect.New(v.Type().Elem()))
			s.fill(v.Elem(), depth+1)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			s.fill(v.Field(i), depth+1)
		}
	}
}

// Harmless fails the test if call panics, unless the panic is a documented one: a text that begins
// with the name of one of the packages.
func Harmless(t *testing.T, call func(), packages ...string) {
	t.Helper()
	defer func() {
		fault := recover()
		if fault == nil {
			return
		}
		text, is := fault.(string)
		if !is || !slices.ContainsFunc(packages, func(name string) bool { return strings.HasPrefix(text, name+": ") }) {
			t.Fatalf("a panic that no comment documents: %v\n%s", fault, debug.Stack())
		}
	}()
	call()
}
