package wav

import (
	"encoding/binary"
	"strings"
)

const (
	// settingsID names the chunk for a text of this library. Programs skip chunks that they do not
	// know (Multimedia Programming Interface and Data Specifications 1.0, chapter 2).
	settingsID = "earn"
	// mostSettings is the longest such text, in bytes.
	mostSettings = 4096
)

// settings reads the text. A damaged one is ignored, since the samples do not depend on it.
func (w *chunks) settings(c chunk) string {
	b, err := w.contents(c, mostSettings)
	if err != nil || c.size > mostSettings {
		return ""
	}
	return strings.ToValidUTF8(string(b), "")
}

// settingsChunk returns the chunk of a text, or nil for an empty one. It panics if the text is too
// long.
func settingsChunk(text string) []byte {
	switch {
	case text == "":
		return nil
	case len(text) > mostSettings:
		panic("wav: settings of more than 4096 bytes")
	case len(text)%2 == 1:
		text += "\n"
	}
	return append(binary.LittleEndian.AppendUint32([]byte(settingsID), uint32(len(text))), text...)
}
