package review

import (
	"fmt"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// severalPlays is the kind of finding about a recording with several plays of the stimulus that was
// given as one seating.
const severalPlays response.FindingKind = "several plays"

// sideHeard is the least level in dB of a side's sweep, re the other side's, in a channel that
// records both. Sound that leaks from one cup into the other is softer.
const sideHeard = -20

// playsIn returns the plays of the stimulus in a recording, or nil if it is too short for two or
// holds fewer. It returns the placement if it had to locate the stimulus.
func (r *recordings) playsIn(rec *capture.Recording) ([]placement.Play, *placement.Placement) {
	silence := r.stimulus.Find(sweep.Silence)[0]
	if rec.Len() <= 2*(r.stimulus.WholeLen()-2*silence.Len) {
		return nil, nil
	}
	placed, err := placement.Locate(rec, r.stimulus)
	if err != nil {
		return nil, placed // the inspection reports what the recording holds
	}
	plays, err := placed.Plays()
	if err != nil || len(plays) < 2 {
		return nil, placed
	}
	return plays, placed
}

// choosePlays lets each use measure one play of a recording that holds several: the first whole one
// with the sweep of its side. It keeps and returns the findings about whole plays that are not
// used.
func (r *recordings) choosePlays(uses []use) (found []response.Finding) {
	if r.stimulus == nil {
		return nil
	}
	for _, rec := range recordingsOf(uses) {
		plays, placed := r.playsIn(rec)
		plays = heldBy(plays, uses, rec)
		chosen := map[int]bool{}
		for i := range uses {
			u := &uses[i]
			if u.recording != rec || u.placed != nil {
				continue
			}
			if u.placed = placed; len(plays) == 0 {
				continue
			}
			k := slices.IndexFunc(plays, u.holds)
			u.recording, u.placed, chosen[k] = plays[k].Recording, plays[k].Placement, true
		}
		left := false
		for k, p := range plays {
			left = left || p.Whole() && !chosen[k]
		}
		if left && len(chosen) > 0 {
			found = append(found, otherPlays(rec.Name, plays, chosen))
		}
	}
	r.doubts = append(r.doubts, found...)
	return found
}

// holds reports whether a play is whole and holds the sweep of a use's side in its channel.
func (u use) holds(p placement.Play) bool {
	if !p.Whole() || u.channel < 1 || u.channel > len(p.Channels) {
		return false
	}
	c := p.Channels[u.channel-1]
	return c.Response != nil && (c.Side == 0 || c.Side == u.side || c.OtherSide > sideHeard)
}

// heldBy returns the plays if each use of the recording finds its side in a whole one. It returns
// nil otherwise: what looks like plays may be the sweeps of another setting, and the inspection of
// the whole recording says so.
func heldBy(plays []placement.Play, uses []use, rec *capture.Recording) []placement.Play {
	for _, u := range uses {
		if u.recording == rec && u.placed == nil && !slices.ContainsFunc(plays, u.holds) {
			return nil
		}
	}
	return plays
}

// otherPlays returns the finding that a recording holds plays that are not measured.
func otherPlays(name string, plays []placement.Play, chosen map[int]bool) response.Finding {
	var from, used []string
	for k, p := range plays {
		from = append(from, fmt.Sprintf("%.1f", p.Start))
		if chosen[k] {
			used = append(used, fmt.Sprintf("%.1f", p.Start))
		}
	}
	last := len(from) - 1
	f := doubt(name, severalPlays, response.Warning)
	f.What = fmt.Sprintf("holds %d plays of the stimulus, from %s and %s s on; the one from %s s on is measured, "+
		"and the others are not", len(plays), strings.Join(from[:last], ", "), from[last], strings.Join(used, " and "))
	f.Remedy = "give each play as a seating of its own (Placement.Plays cuts them out; every_play = true in a session file)"
	return f
}

// recordingsOf returns the recordings of uses in which the stimulus is not located yet, each once.
func recordingsOf(uses []use) (all []*capture.Recording) {
	for _, u := range uses {
		if u.recording != nil && u.err == nil && u.placed == nil && !slices.Contains(all, u.recording) {
			all = append(all, u.recording)
		}
	}
	return all
}
