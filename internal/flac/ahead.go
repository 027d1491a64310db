package flac

import (
	"io"
	"runtime"
	"sync"
	"sync/atomic"
)

// ahead decodes the frames of a FLAC file ahead of the stream, in parts, on all processors. A part begins where a frame seems to
// begin, and its samples belong where that frame's number says. The stream takes over what was decoded only if it comes to that very place in
// the file and in the sound; until it has taken a part over, the part is nothing but room.
//
// Parts write to samples of their own, however wrong the numbers are, and the stream itself writes to none that are still being decoded.
type ahead struct {
	info     *streamInfo
	r        io.ReaderAt
	size     int64
	channels [][]float64
	parts    []part
	next     atomic.Int64 // part to be decoded
	stopped  atomic.Bool
	workers  sync.WaitGroup
	waited   int // parts that are known to be decoded
	passed   int // parts that the stream has come to
}

// part is some frames in a row.
type part struct {
	place   place         // of the first of them, 0 or more samples from the beginning
	end     place         // of the first beyond
	ready   chan struct{} // closed when decoded; after that:
	bytes   int64         // of the file
	frames  int64
	samples int64 // of each channel
}

// place is where a frame begins.
type place struct {
	at     int64 // byte of the file
	done   int64 // samples of each channel before it
	header frameHeader
}

// startAhead begins to decode ahead of the stream, which has decoded its first frame, in parts of step bytes.
func (s *stream) startAhead(step int64) {
	longest := max(s.first.block, s.info.longest)
	seeker := frameSeeker{
		frame: newFrameDecoder(&s.info),
		piece: filePiece{r: s.piece.r, size: s.piece.size},
		first: s.first,
		reach: 2 * largestFrame(&s.info, longest),
	}
	if s.info.total == 0 {
		if last, ok := seeker.last(); ok {
			s.reserve(s.likely(last.done+int64(last.header.block)) - int(s.done))
		}
	}
	here := place{at: s.at, done: s.done, header: frameHeader{number: s.first.next(), variable: s.first.variable}}
	parts := seeker.parts(here, step, int64(len(s.channels[0])))
	if len(parts) == 0 {
		return
	}
	s.ahead = &ahead{info: &s.info, r: s.piece.r, size: s.piece.size, channels: append([][]float64(nil), s.channels...), parts: parts}
	for range min(runtime.GOMAXPROCS(0), len(parts)) {
		s.ahead.workers.Go(s.ahead.work)
	}
}

// takeAhead takes over the part that begins at the frame at hand, if there is one.
func (s *stream) takeAhead() bool {
	p := s.ahead.part(s.at)
	number := s.count
	if s.first.variable {
		number = s.done
	}
	if p == nil || p.frames == 0 || p.place.done != s.done || p.place.header.number-s.first.number != number {
		return false
	}
	s.digest.add(s.channels, int(s.done), int(s.done+p.samples))
	s.at += p.bytes
	s.count += p.frames
	s.done += p.samples
	return true
}

// part returns the part that begins at byte at of the file when it is decoded, or nil if none does.
func (a *ahead) part(at int64) *part {
	if a == nil {
		return nil
	}
	for a.passed < len(a.parts) && a.parts[a.passed].place.at < at {
		a.passed++
	}
	if a.passed == len(a.parts) || a.parts[a.passed].place.at > at {
		return nil
	}
	p := &a.parts[a.passed]
	a.passed++
	<-p.ready
	return p
}

// wait returns when no samples before the given one are being decoded.
func (a *ahead) wait(sample int64) {
	for a != nil && a.waited < len(a.parts) && a.parts[a.waited].place.done < sample {
		<-a.parts[a.waited].ready
		a.waited++
	}
}

// end gives up what is not decoded yet.
func (a *ahead) end() {
	if a != nil {
		a.stopped.Store(true)
		a.workers.Wait()
	}
}

func (a *ahead) work() {
	frame := newFrameDecoder(a.info)
	piece := filePiece{r: a.r, size: a.size}
	for i := int(a.next.Add(1)) - 1; i < len(a.parts) && !a.stopped.Load(); i = int(a.next.Add(1)) - 1 {
		a.parts[i].decode(&frame, &piece, a.channels)
		close(a.parts[i].ready)
	}
}

// decode decodes as many frames of the part as follow each other without fault.
func (p *part) decode(frame *frameDecoder, piece *filePiece, channels [][]float64) {
	if piece.load(p.place.at, p.end.at-p.place.at) != nil {
		return
	}
	frame.r.b = piece.b
	number := p.place.header.number
	for p.bytes < int64(len(piece.b)) {
		start := int(p.bytes)
		h, err := frame.header(start)
		to := p.place.done + p.samples
		if err != nil || h.variable != p.place.header.variable || h.number != number || to+int64(h.block) > p.end.done {
			return
		}
		if !frame.samples(h, start, channels, int(to)) {
			return
		}
		p.bytes = int64(frame.r.offset())
		p.frames++
		p.samples += int64(h.block)
		number = h.next()
	}
}
