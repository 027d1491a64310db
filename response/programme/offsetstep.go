package programme

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// A DC offset that jumps is a step. Its spectrum falls with frequency, so in the bass it exceeds a
// voice. In the direct recording it counts as material that does not come through. The segments in
// which an offset jumps are left out.
const (
	// offsetFrame is the length in seconds of the frames whose means are compared, and offsetBeside
	// the number of frames before and after a jump.
	offsetFrame  = 0.05
	offsetBeside = 16
	// offsetLeast is the least jump re full scale. It is offsetSure times the usual difference of
	// the means before and after a frame.
	offsetLeast = 1e-3
	offsetSure  = 8
	// offsetLevel is the greatest difference of the means of the halves of a side, re the jump, and
	// offsetScatter the greatest standard deviation of the frames of a side. Sound of a low
	// frequency goes on to move.
	offsetLevel, offsetScatter = 0.25, 0.5
	// mostOffsetJumps is the greatest number of jumps in a recording that are left out.
	mostOffsetJumps = 3
)

// offsetJump is a jump of the DC offset between two samples of a recording.
type offsetJump struct {
	from, to float64
	by       float64 // re full scale
}

// offsetJumps finds the largest jumps of the DC offset between two samples of a channel.
func (c Channel) offsetJumps(from, to int) (jumps []offsetJump) {
	n := int(offsetFrame * float64(c.SampleRate))
	if to-from <= 2*offsetBeside*n {
		return nil
	}
	means := make([]float64, (to-from)/n)
	for i := range means {
		means[i] = stat.Mean(c.Samples[from+i*n:from+(i+1)*n], nil)
	}
	change := make([]float64, len(means))
	for j := offsetBeside; j+offsetBeside < len(means); j++ {
		change[j] = stat.Mean(means[j+1:j+1+offsetBeside], nil) - stat.Mean(means[j-offsetBeside:j], nil)
	}
	usual := make([]float64, len(change))
	for j, v := range change {
		usual[j] = math.Abs(v)
	}
	least := max(offsetLeast, offsetSure*statistic.Median(usual))
	for len(jumps) < mostOffsetJumps {
		at := 0
		for j, v := range change {
			if math.Abs(v) > math.Abs(change[at]) {
				at = j
			}
		}
		by := change[at]
		if !(math.Abs(by) > least) {
			break
		}
		if isLevel(means[at-offsetBeside:at], by) && isLevel(means[at+1:at+1+offsetBeside], by) {
			jumps = append(jumps, offsetJump{float64(from + (at-1)*n), float64(from + (at+2)*n), by})
		}
		clear(change[max(0, at-offsetBeside):min(len(change), at+offsetBeside+1)])
	}
	return jumps
}

// findOffsetJumps finds those of both recordings, and the stretches of the shared stretch to leave
// out.
func (p *pass) findOffsetJumps(direct, through Channel) {
	a := p.alignment
	begins, step := a.place(float64(p.from)), a.step()
	ends := begins + step*float64(p.shared)
	p.jumps = [2][]offsetJump{direct.offsetJumps(p.from, p.from+p.shared),
		through.offsetJumps(max(0, int(begins)), min(len(through.Samples), int(ends)))}
	for _, j := range p.jumps[0] {
		p.leftOut = append(p.leftOut, [2]float64{j.from - float64(p.from), j.to - float64(p.from)})
	}
	for _, j := range p.jumps[1] {
		p.leftOut = append(p.leftOut, [2]float64{(j.from - begins) / step, (j.to - begins) / step})
	}
}

// leavesOut reports whether samples of the shared stretch are left out.
func (p *pass) leavesOut(from, to int) bool {
	for _, s := range p.leftOut {
		if float64(from) < s[1] && float64(to) > s[0] {
			return true
		}
	}
	return false
}

// isLevel reports whether means scatter little, and those of their two halves differ little, re a
// jump.
func isLevel(means []float64, jump float64) bool {
	half := len(means) / 2
	moves := stat.Mean(means[half:], nil) - stat.Mean(means[:half], nil)
	return math.Abs(moves) < offsetLevel*math.Abs(jump) && stat.StdDev(means, nil) < offsetScatter*math.Abs(jump)
}

// withOffsetJumps adds to an error of the alignment that the DC offset of a recording jumps, if it
// does: a jump as high as the material hides it.
func withOffsetJumps(err error, direct, through Channel) error {
	for _, c := range []Channel{direct, through} {
		if jumps := c.offsetJumps(0, len(c.Samples)); len(jumps) > 0 {
			largest := jumps[0]
			return fmt.Errorf("%w; the DC offset of %s jumps by %.2g %% of full scale at %.1f s, which may be the cause: "+
				"look for a loose plug or an input that switches, and record again",
				err, c.Name, 100*math.Abs(largest.by), largest.from/float64(c.SampleRate))
		}
	}
	return err
}

// offsetFinding returns the finding about the jumps of a channel's DC offset.
func offsetFinding(c Channel, jumps []offsetJump) response.Finding {
	largest := jumps[0]
	at := largest.from / float64(c.SampleRate)
	return response.Finding{Recording: c.Name, Kind: "DC offset", Severity: response.Note, Time: at,
		Duration: 3 * offsetFrame, Figures: map[string]response.Figure{"change": {Value: largest.by, Unit: "1"}},
		What: fmt.Sprintf("The DC offset of %s jumps by %.2g %% of full scale at %.1f s: what holds the jump is left out "+
			"of the comparison. Look for a loose plug or an input that switches, and record again.",
			c.Name, 100*math.Abs(largest.by), at)}
}
