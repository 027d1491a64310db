package flac

import "bytes"

// frameSeeker looks for frames in the middle of a file.
type frameSeeker struct {
	frame frameDecoder
	piece filePiece
	first frameHeader // of the file
	reach int64       // bytes that two frames take at most
}

// parts divides the frames from the given place on into parts of step bytes or somewhat more, each of which belongs behind the one before, among
// the first room samples. What cannot be divided into parts of at most four times that is left out.
func (k *frameSeeker) parts(from place, step, room int64) (parts []part) {
	for at := from.at + step; at < k.piece.size; at += step {
		next, ok := k.seek(at)
		if !ok || next.at <= from.at || next.done <= from.done || next.done > room {
			continue
		}
		if next.at-from.at <= 4*step {
			parts = append(parts, part{place: from, end: next, ready: make(chan struct{})})
		}
		from = next
	}
	return parts
}

// seek finds the first frame from byte at on: a header that another with the next number follows.
func (k *frameSeeker) seek(at int64) (place place, ok bool) {
	if k.piece.load(at, k.reach) != nil {
		return place, false
	}
	place, _, ok = k.pair(0)
	return place, ok
}

// last finds the last frame of the file that begins behind another.
func (k *frameSeeker) last() (place place, ok bool) {
	if k.piece.load(max(k.piece.size-k.reach-tagBytes, 0), k.reach+tagBytes) != nil {
		return place, false
	}
	for start := 0; ; start = int(place.at - k.piece.from) {
		_, next, more := k.pair(start)
		if !more {
			return place, ok
		}
		place, ok = next, true
	}
}

// pair finds the first two headers in a row, from byte start of the piece at hand on, of which the second has the number after the first's.
func (k *frameSeeker) pair(start int) (one, two place, ok bool) {
	k.frame.r.b = k.piece.b
	for found := false; ; start++ {
		skip := bytes.IndexByte(k.piece.b[start:], 0xFF)
		if skip < 0 {
			return one, two, false
		}
		start += skip
		h, err := k.frame.header(start)
		if err != nil || h.variable != k.first.variable {
			continue
		}
		two = k.place(h, start)
		if found && h.number == one.header.next() {
			return one, two, true
		}
		one, found = two, true
	}
}

// place is where the frame of header h belongs, which begins at byte start of the piece at hand.
func (k *frameSeeker) place(h frameHeader, start int) place {
	done := h.number - k.first.number
	if !h.variable {
		done *= int64(k.first.block)
	}
	return place{at: k.piece.from + int64(start), done: done, header: h}
}
