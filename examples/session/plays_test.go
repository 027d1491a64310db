package session

import (
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// evening is a session in which the recorder was left running.
type evening struct {
	folder     string
	rig        rig.Rig
	headphones rig.Headphones
	stimulus   *sweep.Stimulus
	long       [][]float64
}

func newEvening(t *testing.T) *evening {
	e := &evening{folder: t.TempDir()}
	var err error
	e.stimulus, err = Stimulus{Seconds: 1, Level: -12, Silence: 0.5, Gap: 0.5}.Build()
	require.NoError(t, err)
	e.headphones, _, e.rig = rig.Demonstration()
	e.rig.Microphone, e.rig.Spill = nil, rig.Spill{} // the remaining plays give the true result
	e.long = [][]float64{nil, nil}
	return e
}

func (e *evening) add(part [][]float64) {
	for k := range e.long {
		e.long[k] = append(append(e.long[k], part[k]...), make([]float64, 40_000)...)
	}
}

func (e *evening) save(t *testing.T, name string, channels [][]float64) {
	r := &capture.Recording{Name: name, SampleRate: 48000, Format: capture.Format{Bits: 24}, Channels: channels}
	require.NoError(t, capture.Write(filepath.Join(e.folder, name), r, capture.WriteConfig{Overwrite: true}))
}

func (e *evening) measure(t *testing.T, text string) (*review.Results, error) {
	text = "[headphones]\nname = \"Finchale\"\n[rig]\nname = \"plate\"\n[stimulus]\nseconds = 1\nlevel = -12\nsilence = 0.5\ngap = 0.5\n" + text
	require.NoError(t, os.WriteFile(filepath.Join(e.folder, "session.toml"), []byte(text), 0o644))
	s, err := Read(e.folder)
	if err != nil {
		return nil, err
	}
	return s.ReviewResponse(nil)
}

const everyPlay = "[direct]\nfile = \"evening.wav\"\nplay = 1\n[[seating]]\nevery_play = true\nleft = { file = \"evening.wav\" }\nright = { file = \"evening.wav\" }\n"

func TestOneFileHoldsDirectAndAllSeatings(t *testing.T) {
	race.Skip(t)
	e := newEvening(t)
	played := e.stimulus.Channels()
	e.add(e.rig.Direct(played))
	e.add(e.rig.Through(e.headphones, 0, played))
	stopped := make([][]float64, 2)
	for k := range stopped {
		stopped[k] = played[k][:e.stimulus.Sweeps(sweep.Left)[0].Start+40_000]
	}
	e.add(e.rig.Through(e.headphones, 7, stopped))
	e.add(e.rig.Through(e.headphones, 1, played))
	e.save(t, "evening.wav", e.long)

	m, err := e.measure(t, everyPlay)
	require.NoError(t, err)
	assert.Equal(t, 2, m.Seatings, "the direct play and the stopped play are not seatings")
	for _, side := range m.Sides() {
		require.Len(t, side.Seatings, 2)
		for i, r := range side.Seatings {
			for _, f := range []float64{200, 1000, 4000} {
				of := rig.Left
				if side == m.Right {
					of = rig.Right
				}
				truth := 20 * math.Log10(cmplx.Abs(e.rig.Truth(e.headphones, of, i, f)))
				assert.InDelta(t, truth, r.Response.At(f), 0.5, "dB, %s at %v Hz; smoothing over a twelfth of an octave, the plate's reflection", r.Name, f)
			}
		}
	}
	assert.Contains(t, strings.Join(m.Notes, "\n"), "evening.wav: 4 plays of the stimulus, from 0.0, ")
	var said []string
	for _, f := range m.Findings {
		if f.Severity > response.Note {
			said = append(said, f.String())
		}
	}
	assert.Len(t, said, 1)
	assert.Contains(t, strings.Join(said, ""), "evening.wav: 3rd play is cut short at ")

	_, err = e.measure(t, strings.Replace(everyPlay, "every_play = true\n", "", 1))
	require.ErrorIs(t, err, ErrSession)
	assert.ErrorContains(t, err, "evening.wav holds 4 plays of the stimulus, from 0.0, ")
	assert.ErrorContains(t, err, "say which with play = 1 and so on, or every_play = true")

	m, err = e.measure(t, strings.NewReplacer("every_play = true\n", "", "{ file = \"evening.wav\" }", "{ file = \"evening.wav\", play = 4 }").Replace(everyPlay))
	require.NoError(t, err)
	require.Len(t, m.Left.Seatings, 1)
	truth := 20 * math.Log10(cmplx.Abs(e.rig.Truth(e.headphones, rig.Left, 1, 1000)))
	assert.InDelta(t, truth, m.Left.Seatings[0].Response.At(1000), 0.5, "dB; as above")

	_, err = e.measure(t, strings.Replace(everyPlay, "play = 1", "play = 5", 1))
	assert.ErrorContains(t, err, "evening.wav: the session names play = 5, but the file holds 4 plays")
}

func TestTwoFilesOfPlaysBelongTogetherInOrder(t *testing.T) {
	long.Skip(t)
	e := newEvening(t)
	played := e.stimulus.Channels()
	e.save(t, "direct.wav", e.rig.Direct(played))
	text := "[direct]\nfile = \"direct.wav\"\n[[seating]]\nname = \"evening\"\nevery_play = true\nleft = { file = \"left.wav\" }\nright = { file = \"right.wav\" }\n"
	long := func(cup rig.Side, n int) [][]float64 {
		var x []float64
		for i := range n {
			x = append(x, e.rig.Single(e.headphones, cup, i, played)[0]...)
		}
		return [][]float64{x}
	}
	e.save(t, "left.wav", long(rig.Left, 2))
	e.save(t, "right.wav", long(rig.Right, 2))
	m, err := e.measure(t, text)
	require.NoError(t, err)
	require.Len(t, m.Right.Seatings, 2)
	assert.Equal(t, "evening 2", m.Right.Seatings[1].Name)
	truth := 20 * math.Log10(cmplx.Abs(e.rig.Truth(e.headphones, rig.Right, 1, 1000)))
	assert.InDelta(t, truth, m.Right.Seatings[1].Response.At(1000), 0.5, "dB; as above")

	e.save(t, "right.wav", long(rig.Right, 1))
	_, err = e.measure(t, text)
	require.ErrorIs(t, err, ErrSession)
	assert.ErrorContains(t, err, "seating 1: left and right have different numbers of plays, so they cannot be matched: left.wav has 2 for it (2 plays of the stimulus, ")

	e.save(t, "left.wav", rig.Music(48000, 8, 1)[:1])
	m, err = e.measure(t, text)
	require.NoError(t, err)
	assert.Nil(t, m.Left)
	assert.Len(t, m.Right.Seatings, 1)
	var said []string
	for _, f := range m.Findings {
		said = append(said, f.String())
	}
	all := strings.Join(said, "\n")
	assert.Contains(t, all, "left.wav: cannot be used")
	assert.Contains(t, all, "the stimulus was not found in ")
	assert.Contains(t, all, "the left side is not known")
}

func TestPlaysThatContradict(t *testing.T) {
	for name, c := range map[string]struct{ old, new, says string }{
		"both":        {`left = { file = "evening.wav" }`, `left = { file = "evening.wav", play = 2 }`, "seating 1 has both every_play and play = 2; keep one of them"},
		"below zero":  {"play = 1", "play = -1", "[direct] has play = -1; plays are counted from 1"},
		"a programme": {"[[seating]]", "[[programme]]\nname = \"tune\"\ndirect = { file = \"a.wav\", play = 1 }\nthrough = { file = \"b.wav\" }\n[[seating]]", `programme 1 ("tune") has play`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Decode([]byte("[headphones]\nname = \"F\"\n[rig]\nname = \"p\"\n" + strings.Replace(everyPlay, c.old, c.new, 1)))
			require.ErrorIs(t, err, ErrSession)
			assert.ErrorContains(t, err, c.says)
		})
	}
}
