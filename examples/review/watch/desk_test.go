package watch

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io/fs"
	"math"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
	"example.com/earnest/target/review"
)

// recorder makes recordings of an invented pair in a folder that a desk watches; its clock is the
// test's.
type recorder struct {
	*testing.T
	*desk
	now time.Time
}

// played is the stimulus of the tests, with its file: short, so that recordings are.
var played = sync.OnceValue(func() (file []byte) {
	s := session.Stimulus{Seconds: 1, Silence: 0.6, Gap: 0.5, Level: -12}
	st, err := s.Build()
	if err != nil {
		panic(err)
	}
	settings, err := s.Settings()
	if err != nil {
		panic(err)
	}
	return encoded(&capture.Recording{SampleRate: 48000, Channels: st.Channels(), Settings: settings})
})

func encoded(r *capture.Recording) []byte {
	var out bytes.Buffer
	if err := capture.Encode(&out, r, capture.WriteConfig{Format: capture.Format{Bits: 24}}); err != nil {
		panic(err)
	}
	return out.Bytes()
}

// made are recordings of the invented pair by name, each simulated once.
var made sync.Map

func simulated(name string, make func(pair rig.Headphones, r rig.Rig, st [][]float64) [][]float64) []byte {
	have, _ := made.LoadOrStore(name, sync.OnceValue(func() []byte {
		st, err := session.Stimulus{Seconds: 1, Silence: 0.6, Gap: 0.5, Level: -12}.Build()
		if err != nil {
			panic(err)
		}
		pair, _, r := rig.Demonstration()
		r.Microphone = nil
		return encoded(&capture.Recording{SampleRate: 48000, Channels: make(pair, r, st.Channels())})
	}))
	return have.(func() []byte)()
}

func direct() []byte {
	return simulated("direct", func(_ rig.Headphones, r rig.Rig, st [][]float64) [][]float64 { return r.Direct(st) })
}

// through is one cup in one seating, the input turned up by gain dB.
func through(side rig.Side, seating int, gain float64) []byte {
	name := side.String() + string(rune('0'+seating)) + string(rune(int(gain)+100))
	return simulated(name, func(p rig.Headphones, r rig.Rig, st [][]float64) [][]float64 {
		r.Seed, r.ThroughGain = uint64(seating), r.ThroughGain+gain
		return r.Single(p, side, seating, st)
	})
}

func newRecorder(t *testing.T) *recorder {
	folder := t.TempDir()
	r := &recorder{t, newDesk(folder), time.Unix(1700000000, 0)}
	t.Cleanup(r.close)
	r.write("stimulus.wav", played())
	r.pairName, r.rigName = "Wren", "flat plate"
	r.look(r.now)
	r.first = r.arrived
	return r
}

func (r *recorder) write(name string, data []byte) {
	require.NoError(r, os.WriteFile(filepath.Join(r.folder, name), data, 0o600))
}

// later advances the clock until every complete file is judged.
func (r *recorder) later(d time.Duration) {
	r.now = r.now.Add(d)
	for r.step(r.now) {
	}
}

// land saves a complete file and waits for its verdict.
func (r *recorder) land(name string, data []byte) verdict {
	r.write(name, data)
	stamp := time.Unix(1700000000, 0).Add(time.Duration(r.arrived+1) * time.Minute)
	require.NoError(r, os.Chtimes(filepath.Join(r.folder, name), stamp, stamp))
	r.later(0)
	r.later(stillCut)
	return r.shown()
}

func (r *recorder) shown() verdict {
	r.mutex.Lock()
	defer r.mutex.Unlock()
	return r.view().Verdict
}

// post sends a form of the page.
func (r *recorder) post(path string, values ...string) int {
	form := url.Values{}
	for i := 0; i+1 < len(values); i += 2 {
		form.Add(values[i], values[i+1])
	}
	in := httptest.NewRequest("POST", "http://127.0.0.1:1"+path, strings.NewReader(form.Encode()))
	in.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	in.Header.Set("Origin", "http://127.0.0.1:1")
	out := httptest.NewRecorder()
	r.handler().ServeHTTP(out, in)
	return out.Code
}

// writeAll writes every line that is proposed.
func (r *recorder) writeAll() int {
	r.mutex.Lock()
	var values []string
	for _, l := range r.lines() {
		values = append(values, "line", l.Key)
	}
	r.mutex.Unlock()
	return r.post("/write", values...)
}

// A file is complete once it has stopped growing and its header states its length. A file with an
// open header, or one that is cut short, waits longer.
func TestAFileIsReadOnceItIsComplete(t *testing.T) {
	r := newRecorder(t)
	path := filepath.Join(r.folder, "take.wav")
	whole := encoded(&capture.Recording{SampleRate: 48000, Channels: [][]float64{make([]float64, 9600)}})
	open := bytes.Clone(whole)
	binary.LittleEndian.PutUint32(open[4:], math.MaxUint32) // as programs leave it until they end
	for at := 4096; at < len(open); at += 4096 {            // a recorder writes 4 kB at a time
		require.NoError(t, os.WriteFile(path, open[:at], 0o600))
		r.later(200 * time.Millisecond)
		assert.Equal(t, "Wait", r.shown().Word)
	}
	require.NoError(t, os.WriteFile(path, whole, 0o600)) // the header is completed at the end
	r.later(100 * time.Millisecond)
	assert.Equal(t, "Wait", r.shown().Word, "it may still change")
	r.later(300 * time.Millisecond)
	assert.NotEqual(t, "Wait", r.shown().Word)

	for name, c := range map[string]struct {
		data  []byte
		still time.Duration
	}{"open.wav": {open, stillOpen}, "cut.wav": {whole[:len(whole)/2], stillCut}} {
		r.write(name, c.data)
		r.later(0)
		r.later(c.still - 100*time.Millisecond)
		assert.Equal(t, "Wait", r.shown().Word, name)
		r.later(200 * time.Millisecond)
		assert.NotEqual(t, "Wait", r.shown().Word, name)
	}
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, whole, after, "recordings are only read")
}

// A session from its first recording to the session file. Each fault is reported with one thing to
// do.
func TestASession(t *testing.T) {
	long.Skip(t)
	r := newRecorder(t)
	assert.Contains(t, r.shown().Do, "direct recording")
	assert.Equal(t, "Good", r.land("one.wav", direct()).Word)
	assert.Contains(t, r.shown().Do, "left cup")
	first, _ := r.cautions()
	assert.Contains(t, first, "lowest", "the cautions come before the first recording through the pair")

	v := r.land("two.wav", through(rig.Left, 1, -40))
	assert.NotEqual(t, "Good", v.Word)
	assert.Contains(t, v.Do, "6 dB", "no step is larger")
	v = r.land("three.wav", through(rig.Left, 1, 20))
	assert.Equal(t, verdict{"Again", "again", v.What, "Turn the input down by 6 dB, and record again."}, v)
	assert.Contains(t, v.What, "clips")
	first, _ = r.cautions()
	assert.Contains(t, first, "Stay at this level", "the next level is offered only after the last was fit")
	assert.Equal(t, "Good", r.land("four.wav", through(rig.Left, 1, 0)).Word)
	first, _ = r.cautions()
	assert.Contains(t, first, "do not change any gain")
	assert.Contains(t, r.shown().Do, "right cup")
	assert.Contains(t, r.land("five.wav", through(rig.Left, 1, 0)).What, "same recording as four.wav")
	assert.Equal(t, "Good", r.land("six.wav", through(rig.Right, 1, 0)).Word)
	cut := through(rig.Right, 2, 0)
	assert.Equal(t, "Again", r.land("seven.wav", cut[:len(cut)/3]).Word)
	assert.Contains(t, r.shown().What, "is shorter than its header says")
	assert.Equal(t, "Good", r.land("eight.wav", through(rig.Left, 2, 0)).Word)
	assert.Equal(t, "Good", r.land("nine.wav", through(rig.Right, 3, 0)).Word)
	leaky := simulated("leaky", func(p rig.Headphones, r rig.Rig, st [][]float64) [][]float64 {
		p.Left.Filters = append(slices.Clone(p.Left.Filters), rig.LowShelf(200, 0.7, -9))
		return r.Single(p, rig.Left, 1, st)
	})
	assert.Equal(t, "Press", r.land("leaky.wav", leaky).Word)
	assert.Contains(t, r.shown().What, "the seal leaks")
	assert.Equal(t, 2, r.progress().Left, "it does not count")
	require.Equal(t, 204, r.post("/use", "file", "leaky.wav", "play", "0"))
	assert.Equal(t, 3, r.progress().Left, "unless it is taken all the same")
	require.NoError(t, os.Remove(filepath.Join(r.folder, "leaky.wav")))
	r.later(time.Second)

	require.Equal(t, 204, r.writeAll())
	text, err := os.ReadFile(filepath.Join(r.folder, "session.toml"))
	require.NoError(t, err)
	assert.Equal(t, `[headphones]
name = "Wren"

[rig]
name = "flat plate"

[direct]
file = "one.wav"

[[seating]]
left = { file = "four.wav" }
right = { file = "six.wav" }

[[seating]]
left = { file = "eight.wav" }
right = { file = "nine.wav" }
`, string(text))
	assert.Empty(t, r.lines(), "nothing is left to write")

	// The reviewer adds a comment and removes the first seating; the next lines written keep both
	// changes.
	byHand := strings.Replace(string(text), "[[seating]]\nleft = { file = \"four.wav\" }\nright = { file = \"six.wav\" }\n\n", "# the first was before the cable was changed\n", 1)
	r.write("session.toml", []byte(byHand))
	r.land("ten.wav", through(rig.Left, 4, 0))
	require.Equal(t, 204, r.post("/write", "line", "ten.wav#0;"))
	text, err = os.ReadFile(filepath.Join(r.folder, "session.toml"))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(text), strings.TrimRight(byHand, "\n")), "%s", text)

	again := &recorder{t, newDesk(r.folder), r.now}
	again.later(0)
	again.later(stillCut)
	assert.Equal(t, "Wren", again.pairName, "it goes on where it was")
	assert.Equal(t, 1, again.progress().Has[review.DirectSweep])
	assert.Contains(t, again.told()[0], "Another assistant", "the first one still has the folder")
	assert.Equal(t, 409, again.writeAll())
	r.close()
	assert.Equal(t, 204, again.writeAll())
}

// A recorder that was left running gives several plays in one file. Each is judged separately.
func TestSeveralPlaysInOneFile(t *testing.T) {
	long.Skip(t)
	r := newRecorder(t)
	evening := simulated("evening", func(p rig.Headphones, r rig.Rig, st [][]float64) [][]float64 {
		var x, y []float64
		for _, part := range [][][]float64{r.Direct(st), r.Through(p, 1, st), r.Through(p, 2, st)} {
			x, y = append(append(x, part[0]...), make([]float64, 48000)...), append(append(y, part[1]...), make([]float64, 48000)...)
		}
		return [][]float64{x, y}
	})
	r.land("evening.wav", evening)
	r.later(time.Second) // the recording through the headphones is judged again, with the direct play
	require.Len(t, r.file("evening.wav").takes, 3)
	assert.Equal(t, "Good", r.shown().Word)
	require.Equal(t, 204, r.writeAll())
	text, err := os.ReadFile(filepath.Join(r.folder, "session.toml"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "[direct]\nfile = \"evening.wav\"\nplay = 1\n")
	assert.Contains(t, string(text), "[[seating]]\nleft = { file = \"evening.wav\", play = 2 }\nright = { file = \"evening.wav\", play = 2 }\n")
	assert.Contains(t, string(text), "[[seating]]\nleft = { file = \"evening.wav\", play = 3 }\nright = { file = \"evening.wav\", play = 3 }\n")
	assert.Empty(t, r.lines())
	assert.Len(t, r.seatings(), 2, "the response of both sides is drawn")
}

// The two recordings of a piece of music are distinguished, in either order.
func TestAPieceWhicheverCameFirst(t *testing.T) {
	long.Skip(t)
	tune := rig.Music(48000, 6, 3)
	song := simulated("song", func(_ rig.Headphones, r rig.Rig, _ [][]float64) [][]float64 { return r.Direct(tune) })
	songLeft := simulated("song, left", func(p rig.Headphones, r rig.Rig, _ [][]float64) [][]float64 {
		return r.Single(p, rig.Left, 1, tune)
	})
	for _, first := range []string{"direct", "through"} {
		t.Run(first, func(t *testing.T) {
			r := newRecorder(t)
			r.land("a.wav", direct())
			r.land("b.wav", through(rig.Left, 1, 0))
			one, two := song, songLeft
			if first == "through" {
				one, two = two, one
			}
			assert.Contains(t, r.land("one.wav", one).Do, "the other way too")
			r.land("two.wav", two)
			r.later(stillCut)
			require.Equal(t, 204, r.writeAll())
			text, err := os.ReadFile(filepath.Join(r.folder, "session.toml"))
			require.NoError(t, err)
			names := map[string][2]string{"direct": {"one", "two"}, "through": {"two", "one"}}[first]
			assert.Contains(t, string(text), "direct = { file = \""+names[0]+".wav\" }\nleft = { file = \""+names[1]+".wav\" }")
		})
	}
}

// A recording of several pieces, one after the other, is named part by part, whichever file came
// first.
func TestSeveralPiecesInOneFile(t *testing.T) {
	long.Skip(t)
	sweepDirect := direct()
	tunes := [2][][]float64{rig.Music(48000, 6, 3), rig.Music(48000, 7, 4)}
	alone := func(i int) []byte {
		return simulated(fmt.Sprint("tune", i), func(_ rig.Headphones, r rig.Rig, _ [][]float64) [][]float64 { return r.Direct(tunes[i]) })
	}
	both := simulated("both tunes", func(p rig.Headphones, r rig.Rig, _ [][]float64) [][]float64 {
		var played [][]float64
		for c := range 2 { // the second begins after 3 + 6 + 2 s
			x := append(make([]float64, 3*48000), tunes[0][c]...)
			played = append(played, append(append(x, make([]float64, 2*48000)...), tunes[1][c]...))
		}
		return r.Single(p, rig.Left, 1, played)
	})
	for _, order := range [][]string{{"one.wav", "two.wav", "both.wav"}, {"both.wav", "one.wav", "two.wav"}} {
		t.Run(order[0], func(t *testing.T) {
			r := newRecorder(t)
			r.land("a.wav", sweepDirect)
			r.land("b.wav", through(rig.Left, 1, 0))
			for _, name := range order {
				r.land(name, map[string][]byte{"one.wav": alone(0), "two.wav": alone(1), "both.wav": both}[name])
			}
			for range 4 { // a reviewer knows what is asked
				r.later(stillCut)
				for _, f := range r.files {
					for _, k := range f.takes {
						is := func(c review.Candidate) bool { return c.Role == review.DirectPiece }
						if f.name == "both.wav" {
							is = func(c review.Candidate) bool { return c.Role == review.ThroughPiece && c.Left > 0 }
						}
						if k.asked() {
							assert.Equal(t, 204, r.post("/answer", "file", f.name, "play", fmt.Sprint(k.identity.Play), "choice",
								fmt.Sprint(slices.IndexFunc(k.identity.Candidates, is))))
						}
					}
				}
			}
			require.Len(t, r.file("both.wav").takes, 2)
			require.Equal(t, 204, r.writeAll())
			text, err := os.ReadFile(filepath.Join(r.folder, "session.toml"))
			require.NoError(t, err)
			for name, from := range map[string]float64{"one": 3, "two": 11} {
				m := regexp.MustCompile(`direct = \{ file = "` + name + `.wav" \}\nleft = \{ file = "both.wav", from = ([0-9.]+), to = ([0-9.]+) \}`).FindStringSubmatch(string(text))
				require.NotNil(t, m, "%s: %s", name, text)
				begins, err := strconv.ParseFloat(m[1], 64)
				require.NoError(t, err)
				assert.InDelta(t, from, begins, 0.8, "half a second before it, and what the rig adds")
			}
			assert.Empty(t, r.lines(), "nothing is left to write")
		})
	}
}

// A file without permission to read it is named, and judged when the permission comes.
func TestAFileThatMayNotBeRead(t *testing.T) {
	if os.Geteuid() == 0 || runtime.GOOS == "windows" {
		t.Skip("this account may read everything")
	}
	r := newRecorder(t)
	path := filepath.Join(r.folder, "take.wav")
	r.write("take.wav", encoded(&capture.Recording{SampleRate: 48000, Channels: [][]float64{make([]float64, 9600)}}))
	require.NoError(t, os.Chmod(path, 0))
	r.later(0)
	r.later(stillCut)
	assert.Contains(t, r.shown().What, "may not read it")
	require.NoError(t, os.Chmod(path, 0o600))
	r.later(time.Second)
	r.later(time.Second)
	assert.NotContains(t, r.shown().What, "may not read it")
}

// The folder is looked at when something happens in it, by the clock of the computer.
func TestWorkFollowsTheFolder(t *testing.T) {
	r := newRecorder(t)
	ctx, stop := context.WithTimeout(context.Background(), 20*time.Second) // far beyond what it takes
	defer stop()
	go r.work(ctx)
	r.write("take.wav", encoded(&capture.Recording{SampleRate: 48000, Channels: [][]float64{make([]float64, 9600)}}))
	for {
		r.mutex.Lock()
		changed, f := r.changed, r.file("take.wav")
		done := f != nil && f.judged
		r.mutex.Unlock()
		if done {
			return
		}
		select {
		case <-changed:
		case <-ctx.Done():
			t.Fatal("it was not judged")
		}
	}
}

// Nobody but the page itself writes.
func TestNothingIsWrittenFromElsewhere(t *testing.T) {
	r := newRecorder(t)
	for _, path := range []string{"/begin", "/answer", "/use", "/write", "/stimulus", "/report"} {
		for _, origin := range []string{"", "http://attack.example", "null"} {
			in := httptest.NewRequest("POST", "http://127.0.0.1:1"+path, strings.NewReader("line=pair+and+rig"))
			in.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			in.Header.Set("Origin", origin)
			out := httptest.NewRecorder()
			r.handler().ServeHTTP(out, in)
			assert.Equal(t, 403, out.Code, "%s from %q", path, origin)
		}
	}
	assert.NoFileExists(t, filepath.Join(r.folder, "session.toml"))
	for _, path := range []string{"/report/session.toml", "/report/..%2fsession.toml", "/report/stimulus.wav"} {
		out := httptest.NewRecorder()
		r.handler().ServeHTTP(out, httptest.NewRequest("GET", "http://127.0.0.1:1"+path, nil))
		assert.Equal(t, 404, out.Code, path)
	}
	assert.Contains(t, unreadable(fs.ErrPermission), "may not read it")
}

// Faults of the file system are reported, and nothing is lost. A session may state what is played,
// and no stimulus.wav need be in the folder.
func TestTheStimulusIsOfferedWhereItIs(t *testing.T) {
	r := newRecorder(t)
	assert.True(t, r.view().Playable)
	require.NoError(t, os.Remove(filepath.Join(r.folder, "stimulus.wav")))
	r.write("session.toml", []byte("stimulus = { seconds = 2, level = -12 }\n"))
	r.later(0)
	assert.False(t, r.view().NoStimulus, "the session states it")
	assert.False(t, r.view().Playable)
}

func TestWhatGoesWrongAroundIt(t *testing.T) {
	r := newRecorder(t)
	noise := encoded(&capture.Recording{SampleRate: 48000, Channels: [][]float64{make([]float64, 9600)}})
	assert.Equal(t, "Again", r.land("text.wav", []byte(strings.Repeat("not a recording ", 9))).Word)
	r.land("take.wav", noise)

	r.write("session.toml", []byte("[headphones\nname = 1"))
	r.later(time.Second)
	assert.Contains(t, r.told()[0], "line 1")
	assert.Equal(t, 409, r.writeAll(), "nothing is written over what cannot be read")
	text, err := os.ReadFile(filepath.Join(r.folder, "session.toml"))
	require.NoError(t, err)
	assert.Equal(t, "[headphones\nname = 1", string(text))
	require.NoError(t, os.Remove(filepath.Join(r.folder, "session.toml")))
	r.later(time.Second)
	assert.Empty(t, r.told()[1:], "the message is gone")

	r.land("take.wav", noise[:len(noise)/2])
	assert.Contains(t, r.shown().What, "replaced a file of the same name")

	moved := r.folder + "-moved"
	require.NoError(t, os.Rename(r.folder, moved))
	r.later(time.Second)
	assert.Contains(t, strings.Join(r.told(), "\n"), "The results so far are kept")
	assert.Len(t, r.files, 2)
	require.NoError(t, os.Rename(moved, r.folder))
	r.later(time.Second)
	assert.NotContains(t, strings.Join(r.told(), "\n"), "The results so far are kept")

	require.NoError(t, os.Remove(filepath.Join(r.folder, "take.wav")))
	r.later(time.Second)
	r.mutex.Lock()
	defer r.mutex.Unlock()
	assert.Equal(t, "Gone", r.rows(r.file("take.wav"), r.progress())[0].Word)
}
