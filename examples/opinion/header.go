package opinion

import (
	"bytes"
	"encoding/binary"
)

// upright is the Exif orientation that needs no rotation.
const upright = 1

// jpegHeader holds what must be known of a JPEG file before it is decoded.
type jpegHeader struct {
	orientation int
	progressive bool
	scans       int
}

// readHeader reads the segments of a JPEG file (ITU-T T.81, B.1.1.4) up to its first scan. Like
// decoders, it skips the bytes between segments, so that nothing can be hidden there.
func readHeader(data []byte) jpegHeader {
	h := jpegHeader{orientation: upright, scans: bytes.Count(data, []byte{0xff, 0xda})}
	for at := min(2, len(data)); ; {
		next := bytes.IndexByte(data[at:], 0xff)
		if next < 0 {
			return h
		}
		for at += next; at < len(data) && data[at] == 0xff; at++ { // fill bytes
		}
		if at+3 > len(data) {
			return h
		}
		marker, size := data[at], int(binary.BigEndian.Uint16(data[at+1:]))
		switch {
		case marker == 0 || marker >= 0xd0 && marker <= 0xd7:
			at++
			continue
		case marker == 0xda || size < 2 || at+1+size > len(data):
			return h
		}
		segment := data[at+3 : at+1+size]
		switch {
		case marker == 0xc2:
			h.progressive = true
		case marker == 0xe1 && bytes.HasPrefix(segment, []byte("Exif\x00\x00")):
			h.orientation = orientation(segment[6:])
		}
		at += 1 + size
	}
}

// orientation returns tag 0x0112 of the first Exif directory, which has the layout of TIFF; upright
// if there is none.
func orientation(tiff []byte) int {
	if len(tiff) < 8 {
		return upright
	}
	var order binary.ByteOrder = binary.BigEndian
	if tiff[0] == 'I' {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return upright
	}
	entries := int64(order.Uint16(tiff[at:]))
	for i := range entries {
		entry := at + 2 + 12*i
		if entry+12 > int64(len(tiff)) {
			break
		}
		if order.Uint16(tiff[entry:]) == 0x0112 {
			if v := int(order.Uint16(tiff[entry+8:])); v >= 1 && v <= 8 {
				return v
			}
		}
	}
	return upright
}
