package fitness_test

import (
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// said is the statement about a recording.
type said struct {
	Stimulus   *sweep.Stimulus
	Direct     bool
	Sides      []sweep.Side
	SampleRate int
}

// inspected locates the stimulus in recordings, and inspects them as a set.
func inspectedSet(recordings []*capture.Recording, as ...said) *fitness.Report {
	var set fitness.Set
	all := &fitness.Report{}
	for k, r := range recordings {
		p, _ := placement.Locate(r, as[k].Stimulus) // the report says what Locate does not find
		one := set.Inspect(p, fitness.Config{Direct: as[k].Direct, Sides: as[k].Sides, SampleRate: as[k].SampleRate})
		all.Findings = append(all.Findings, one.Findings...)
		all.Channels = append(all.Channels, one.Channels...)
	}
	return all
}

func inspected(r *capture.Recording, as said) *fitness.Report {
	return inspectedSet([]*capture.Recording{r}, as)
}

func playsOf(r *capture.Recording, st *sweep.Stimulus) ([]placement.Play, error) {
	p, err := placement.Locate(r, st)
	if err != nil {
		return nil, err
	}
	return p.Plays()
}

func takeOf(r *capture.Recording, st *sweep.Stimulus, channel int, side sweep.Side) (*placement.Take, error) {
	p, err := placement.Locate(r, st)
	if err != nil {
		return nil, err
	}
	return p.Take(channel, side)
}
