package wav

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
)

// Format tags of the fmt chunk.
const (
	tagInteger    = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE
)

// guidTail follows the two bytes of the format tag in the subformat of an extensible header.
const guidTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

// coded names the compressed formats of recorders and telephones in WAV files.
var coded = map[uint16]string{
	0x0002: "ADPCM", 0x0006: "A-law", 0x0007: "µ-law", 0x0011: "IMA ADPCM", 0x0031: "GSM 6.10",
	0x0050: "MPEG audio", 0x0055: "MPEG layer 3", 0x00FF: "AAC", 0xF1AC: "FLAC",
}

// header is the contents of the fmt chunk.
type header struct {
	rate     int
	channels int
	format   Format
}

// frame returns the bytes of one sample of all channels.
func (h header) frame() int { return h.channels * h.format.bytes() }

func tagName(tag uint16) string {
	if name, ok := coded[tag]; ok {
		return name
	}
	return fmt.Sprintf("format %#04x", tag)
}

// foreign names files that people take for WAV, by their first bytes.
var foreign = []struct{ start, name string }{
	{"fLaC", "FLAC"}, {"OggS", "Ogg"}, {"FORM", "AIFF"}, {"ID3", "MP3"}, {"\xff\xfb", "MP3"}, {"caff", "CAF"},
	{".snd", "AU"}, {"PK\x03\x04", "ZIP"},
}

// identify returns an error unless head, the first 12 bytes of a file or all of a shorter one,
// begins a WAV file. wide reports RF64, whose sizes are in a ds64 chunk.
func identify(head []byte) (wide bool, err error) {
	s := string(head)
	if s == "" {
		return false, fault(ErrEmpty, 0, "the file is empty; the recorder has written nothing: record again")
	}
	if start := s[:min(len(s), 4)]; len(s) < 12 && (strings.HasPrefix("RIFF", start) || start == "RF64") {
		return false, fault(ErrTruncated, int64(len(s)), "the file ends inside its header; copy or record it again")
	}
	id, kind := s[:min(len(s), 4)], s[min(len(s), 8):]
	switch {
	case id == "RIFX":
		return false, fault(ErrUnsupported, 0, "a big-endian WAV (RIFX) is not read; export as a usual, little-endian WAV")
	case s == "riff\x2e\x91\xcf\x11\xa5\xd6\x28\xdb":
		return false, fault(ErrUnsupported, 0, "a Wave64 file is not read; export as WAV")
	case id == "RIFF" && kind != "WAVE":
		return false, fault(ErrNotWAV, 8, "a RIFF file of kind %q, not a WAV recording; export as WAV", kind)
	case (id == "RIFF" || id == "RF64" || id == "BW64") && kind == "WAVE":
		return id != "RIFF", nil
	}
	for _, f := range foreign {
		if strings.HasPrefix(s, f.start) {
			return false, fault(ErrNotWAV, 0, "starts with %q, as %s files do; not a WAV recording; export as WAV",
				f.start, f.name)
		}
	}
	return false, fault(ErrNotWAV, 0, "starts with %q; not a WAV recording; export as WAV", s)
}

// parseHeader reads the contents b of a fmt chunk at offset at.
func parseHeader(b []byte, at int64) (h header, err error) {
	if len(b) < 16 {
		return h, fault(ErrHeader, at, "the fmt chunk has %d bytes where 16 are the least; the file is damaged", len(b))
	}
	le := binary.LittleEndian
	tag, channels, rate := le.Uint16(b), int(le.Uint16(b[2:])), le.Uint32(b[4:])
	align, bits := int(le.Uint16(b[12:])), int(le.Uint16(b[14:]))
	valid := bits
	if tag == tagExtensible {
		if tag, valid, err = parseExtension(b, at); err != nil {
			return h, err
		}
	}
	switch {
	case tag != tagInteger && tag != tagFloat:
		return h, fault(ErrUnsupported, at, "samples coded as %s are not read; export as uncompressed WAV (integer or float)",
			tagName(tag))
	case channels == 0:
		return h, fault(ErrHeader, at+2, "the header says zero channels; export the recording again")
	case channels > maxChannels:
		return h, fault(ErrHeader, at+2,
			"the header says %d channels, more than the %d that are read; the file is damaged, or split it",
			channels, maxChannels)
	case rate == 0 || rate > math.MaxInt32:
		return h, fault(ErrHeader, at+4, "the header says a sample rate of %d Hz; export the recording again", rate)
	case bits == 0 || valid < 0 || valid > bits:
		return h, fault(ErrHeader, at+14, "the header says %d bits a sample, %d of them valid; export the recording again",
			bits, valid)
	}
	// A plain header may state 20 bits for 24 of which the upper 20 are valid.
	h = header{int(rate), channels, Format{Bits: (bits + 7) / 8 * 8, ValidBits: valid, Float: tag == tagFloat}}
	if !h.format.known() {
		return h, fault(ErrUnsupported, at+14,
			"samples of %v are not read; export as 16 or 24-bit integer or as 32-bit float", h.format)
	}
	if align != h.frame() {
		return h, fault(ErrHeader, at+12,
			"the header says %d bytes for a sample of each channel where %d channels of %v take %d; export the recording again",
			align, channels, h.format, h.frame())
	}
	return h, nil
}

// parseExtension reads the additional fields of WAVE_FORMAT_EXTENSIBLE: the format tag of the
// samples and the valid bits.
func parseExtension(b []byte, at int64) (tag uint16, valid int, err error) {
	if len(b) < 40 {
		return 0, 0, fault(ErrHeader, at, "an extensible fmt chunk has %d bytes where 40 are the least; the file is damaged",
			len(b))
	}
	le := binary.LittleEndian
	if string(b[26:40]) != guidTail {
		return 0, 0, fault(ErrUnsupported, at+24,
			"samples of subformat %x are not read; export as uncompressed WAV (integer or float)", b[24:40])
	}
	if valid = int(le.Uint16(b[18:])); valid == 0 {
		valid = int(le.Uint16(b[14:]))
	}
	return le.Uint16(b[24:]), valid, nil
}
