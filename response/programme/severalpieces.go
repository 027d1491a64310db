package programme

import (
	"fmt"
	"slices"
	"strings"

	"example.com/earnest/internal/statistic"
)

const (
	// pieceFrame is the length in seconds of the frames in which a pause is looked for, pauseLeast
	// the least length of a pause between two pieces, and pieceLeast that of a piece.
	pieceFrame, pauseLeast, pieceLeast = 0.1, 1.0, 3.0
	// pauseSofter is the least ratio of the power of a loud frame to that of one in a pause.
	pauseSofter = 1e4
)

// stretchOf is a stretch of a recording, in decimated samples.
type stretchOf struct{ from, to int }

// pieces returns the pieces that the direct recording holds, with pauses between them.
func (t *decimated) pieces(rate float64) (found []stretchOf) {
	n := int(pieceFrame * rate)
	var powers []float64
	for at := 0; at+n <= len(t.direct); at += n {
		powers = append(powers, statistic.MeanSquare(t.direct[at:at+n]))
	}
	if len(powers) == 0 {
		return nil
	}
	soft := statistic.Median(slices.Clone(powers)) / pauseSofter
	from, last := -1, -1
	end := func() {
		if from >= 0 && float64((last+1-from)*n) >= pieceLeast*rate {
			found = append(found, stretchOf{from * n, (last + 1) * n})
		}
		from = -1
	}
	for i, p := range powers {
		if p <= soft {
			continue
		}
		if from >= 0 && float64((i-last-1)*n) >= pauseLeast*rate {
			end()
		}
		if from < 0 {
			from = i
		}
		last = i
	}
	end()
	return found
}

// severalPieces returns an error that wraps another and says which pieces a direct recording holds
// and where the other recording holds them, if there are several and one is found; otherwise it
// returns that other error.
func (t *decimated) severalPieces(direct, through Channel, because error) error {
	rate := float64(direct.SampleRate) / float64(t.step)
	all := t.pieces(rate)
	if len(all) < 2 {
		return because
	}
	var held, there []string
	for i, one := range all {
		held = append(held, fmt.Sprintf("from %.1f to %.1f s", float64(one.from)/rate, float64(one.to)/rate))
		part := &decimated{direct: t.direct[one.from:one.to], through: t.through, step: t.step}
		part.excerpt = min(t.excerpt, len(part.direct)/3, len(part.through)/2)
		if m := part.anchor(); m.prominence >= minProminence {
			there = append(there, fmt.Sprintf("number %d from %.1f s on", i+1, m.lag/float64(direct.SampleRate)))
		}
	}
	if len(there) == 0 {
		return because
	}
	return fmt.Errorf("%w (%s holds %d pieces, %s; %s holds %s: name each piece by itself, in files of its own, "+
		"with the same pauses in both if they are to stay together)", because, direct.Name, len(all),
		strings.Join(held, ", "), through.Name, strings.Join(there, ", "))
}
