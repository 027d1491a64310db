package outside

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response/capture"
)

// command is a program with its arguments.
type command []string

var plain = regexp.MustCompile(`^[-\w./=:,+]+$`)

// String returns the command for a shell.
func (c command) String() string {
	quoted := make([]string, len(c))
	for i, a := range c {
		if quoted[i] = a; !plain.MatchString(a) {
			quoted[i] = "'" + strings.ReplaceAll(a, "'", `'\''`) + "'"
		}
	}
	return strings.Join(quoted, " ")
}

// commands returns the commands for the chain's effects from one file to another, with intermediate
// files beside the last.
func (c *chain) commands(in, out string, channels int, seconds float64) []command {
	var all []command
	for i := 0; i < len(c.links); {
		j := i + 1
		for j < len(c.links) && c.links[j].program == c.links[i].program && (c.links[i].program == "ffmpeg" || c.links[j].noise == nil) {
			j++
		}
		to := out
		if j < len(c.links) {
			to = fmt.Sprintf("%s.%d.wav", strings.TrimSuffix(out, filepath.Ext(out)), j)
		}
		if group := c.links[i:j]; group[0].program == "sox" {
			all = append(all, soxCommand(in, to, group, c.rate, channels, seconds))
		} else {
			all = append(all, ffmpegCommand(in, to, group, c.rate, channels))
		}
		in, i = to, j
	}
	return all
}

// soxCommand mixes noise in first, since sox mixes before its effects.
func soxCommand(in, out string, links []link, rate, channels int, seconds float64) command {
	c := command{"sox", "-D", in}
	if n := links[0].noise; n != nil {
		source := fmt.Sprintf("|sox -r %d -n -c %d -p synth %g whitenoise vol %g", rate, channels, seconds, n.amplitude)
		c = command{"sox", "-D", "-m", "-v", "1", in, "-v", "1", source}
		links = links[1:]
	}
	c = append(c, soxFormat(out)...)
	for _, l := range links {
		c = append(c, l.sox...)
	}
	return c
}

// soxFormat returns the arguments for writing a file: as float unless its name says otherwise.
func soxFormat(out string) []string {
	if filepath.Ext(out) == ".flac" {
		return []string{"-b", "24", out}
	}
	return []string{"-e", "floating-point", "-b", "64", out}
}

func ffmpegCommand(in, out string, links []link, rate, channels int) command {
	graph, joint := []string{"[0:a]aformat=sample_fmts=dblp"}, 0
	layout, pan := "stereo", "pan=stereo|c0=c0|c1=c0"
	if channels == 1 {
		layout, pan = "mono", "anull"
	}
	for _, l := range links {
		last := &graph[len(graph)-1]
		if l.noise == nil {
			*last += "," + l.ffmpeg
			continue
		}
		joint++
		*last += fmt.Sprintf(",aformat=channel_layouts=%s[a%d]", layout, joint)
		graph = append(graph,
			fmt.Sprintf("anoisesrc=r=%d:a=%g:seed=%d,aformat=sample_fmts=dblp,%s[n%d]", rate, l.noise.amplitude, l.noise.seed, pan, joint),
			fmt.Sprintf("[a%d][n%d]amix=inputs=2:duration=first:normalize=0", joint, joint))
	}
	codec := "pcm_f64le"
	if filepath.Ext(out) == ".flac" {
		codec = "flac"
	}
	return command{"ffmpeg", "-nostdin", "-loglevel", "error", "-y", "-i", in, "-filter_complex", strings.Join(graph, ";"), "-c:a", codec, out}
}

// run runs commands in turn. They must not clip, which sox reports.
func run(t testing.TB, commands []command) {
	t.Helper()
	for _, c := range commands {
		said, err := exec.Command(programs.Need(t, c[0]), c[1:]...).CombinedOutput()
		require.NoError(t, err, "%v\n%s", c, said)
		require.NotContains(t, string(said), "clipped", "%v", c)
	}
}

// process sends a file through the chain and reads the result.
func (c *chain) process(t testing.TB, in, out string, channels int, seconds float64) (*capture.Recording, []command) {
	t.Helper()
	commands := c.commands(in, out, channels, seconds)
	run(t, commands)
	r, err := capture.Read(out)
	require.NoError(t, err)
	return r, commands
}

// write writes channels as a file of 64-bit float.
func write(t testing.TB, path string, rate int, channels ...[]float64) {
	t.Helper()
	r := &capture.Recording{SampleRate: rate, Channels: channels}
	require.NoError(t, capture.Write(path, r, capture.WriteConfig{Format: capture.Format{Bits: 64, Float: true}, Overwrite: true}))
}

// folder returns the folder for a chain's files. It is removed afterwards, unless -keep is set.
func folder(t testing.TB, name string) string {
	if *keep == "" {
		return t.TempDir()
	}
	path := filepath.Join(*keep, name)
	require.NoError(t, os.MkdirAll(path, 0o777))
	return path
}
