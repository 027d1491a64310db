package session

import (
	"fmt"
	"maps"
	"slices"

	"example.com/earnest/examples/opinion"
)

// maxPhotos is the largest number of photographs of a session.
const maxPhotos = 20

// UnmarshalText reads notes = "…", the form before notes had sections, as a text without a section.
func (n *Notes) UnmarshalText(text []byte) error {
	*n = Notes{Text: string(text)}
	return nil
}

// sections returns the texts that are not empty, by name.
func (n Notes) sections() map[string]string {
	all := map[string]string{"": n.Text, "sound": n.Sound, "comfort": n.Comfort, "build": n.Build, "use": n.Use}
	maps.DeleteFunc(all, func(_, text string) bool { return text == "" })
	return all
}

// check returns an error if a text is too long.
func (n Notes) check() error {
	for name, text := range n.sections() {
		if len(text) > opinion.MaxText {
			return fmt.Errorf("[notes] %s has %d bytes, but at most %d are printed; shorten "+
				"it", name, len(text), opinion.MaxText)
		}
	}
	return nil
}

// photos returns the photograph files that the notes name.
func (n Notes) photos() (files []string) {
	sections := n.sections()
	for _, name := range slices.Sorted(maps.Keys(sections)) {
		for _, file := range opinion.Photos(sections[name]) {
			if !slices.Contains(files, file) {
				files = append(files, file)
			}
		}
	}
	return files
}

// readPhotos reads the photographs that the notes name.
func (s *Session) readPhotos() (map[string][]byte, error) {
	files := s.Notes.photos()
	if len(files) > maxPhotos {
		return nil, fmt.Errorf("session: [notes]: %d photographs, but at most %d are shown; leave some "+
			"out", len(files), maxPhotos)
	}
	photos := map[string][]byte{}
	for _, file := range files {
		photo, err := opinion.ReadPhoto(s.path(file))
		if err != nil {
			return nil, fmt.Errorf("session: [notes]: %w", err)
		}
		photos[file] = photo
	}
	return photos, nil
}
