package opinion

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	_ "image/gif" // registers the format
	"image/jpeg"
	_ "image/png" // registers the format
	"io"

	scale "golang.org/x/image/draw"

	"example.com/earnest/internal/regular"
)

// Limits on a photograph's file, its pixels and the memory that they need. All are known before it
// is decoded.
const (
	maxFile    = 40 << 20
	maxPixels  = 64_000_000
	maxDecoded = 192 << 20
	maxScans   = 100 // of a JPEG file; the time to decode grows with their number
)

// The largest longer side of a photograph in a page in pixels, and its quality as a JPEG file.
const (
	longerSide = 1280
	quality    = 82
)

// ErrPhoto is the error of a file that cannot be shown as a photograph.
var ErrPhoto = errors.New("photograph cannot be used")

// ReadPhoto reads a JPEG, PNG or GIF file and returns it as a JPEG file of at most 1280 pixels a
// side, upright. The result holds only the picture: no place, date, camera, thumbnail or colour
// profile. The error wraps ErrPhoto if the file or the decoded image is too large, or if the file
// is not an image.
func ReadPhoto(path string) ([]byte, error) {
	picture, err := readPhoto(path)
	if err != nil {
		return nil, fmt.Errorf("opinion: %s: %w", path, err)
	}
	return picture, nil
}

func readPhoto(path string) ([]byte, error) {
	f, size, err := regular.Open(path)
	switch {
	case errors.Is(err, regular.ErrFolder) || errors.Is(err, regular.ErrSpecial):
		return nil, fmt.Errorf("%w: it is not a regular file; name an image", ErrPhoto)
	case err != nil:
		return nil, err
	}
	defer f.Close()
	if size > maxFile {
		return nil, fmt.Errorf("%w: it has %d MB, but at most %d are read; make it "+
			"smaller", ErrPhoto, size>>20, maxFile>>20)
	}
	data, err := io.ReadAll(io.LimitReader(f, maxFile)) // no more, even if the file grows
	if err != nil {
		return nil, err
	}
	config, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%w: it is not a JPEG, PNG or GIF file (%w); save it as JPEG", ErrPhoto, err)
	}
	header := jpegHeader{orientation: upright}
	if format == "jpeg" {
		header = readHeader(data)
	}
	if header.scans > maxScans {
		return nil, fmt.Errorf("%w: it has more than %d scans; save it again as JPEG", ErrPhoto, maxScans)
	}
	bytesPerPixel := pixelBytes(config.ColorModel)
	if header.progressive {
		bytesPerPixel += 16 // the coefficients of four components
	}
	if pixels := int64(config.Width) * int64(config.Height); pixels > min(maxPixels, maxDecoded/bytesPerPixel) {
		return nil, fmt.Errorf("%w: it has %d × %d pixels, but at most %d million are decoded of such a "+
			"file; make it smaller",
			ErrPhoto, config.Width, config.Height, min(maxPixels, maxDecoded/bytesPerPixel)/1_000_000)
	}
	whole, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%w: it is incomplete: %w; save it again", ErrPhoto, err)
	}
	if whole.Bounds().Empty() {
		return nil, fmt.Errorf("%w: it has no pixels; save it again", ErrPhoto)
	}
	var out bytes.Buffer
	err = jpeg.Encode(&out, turned(shrunk(whole), header.orientation), &jpeg.Options{Quality: quality})
	return out.Bytes(), err
}

// pixelBytes returns the largest number of bytes of a pixel in memory.
func pixelBytes(m color.Model) int64 {
	switch m {
	case color.GrayModel:
		return 1
	case color.Gray16Model:
		return 2
	case color.YCbCrModel:
		return 3
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	}
	if _, is := m.(color.Palette); is {
		return 1
	}
	return 4
}

// shrunk returns an image on white with no side longer than longerSide.
func shrunk(m image.Image) *image.RGBA {
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	if longer := max(w, h); longer > longerSide {
		w, h = max(1, w*longerSide/longer), max(1, h*longerSide/longer)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
	scale.BiLinear.Scale(out, out.Bounds(), m, m.Bounds(), scale.Over, nil)
	return out
}

// turned returns an image turned upright from an Exif orientation, 1 to 8.
func turned(m *image.RGBA, orientation int) *image.RGBA {
	if orientation == upright {
		return m
	}
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	if orientation >= 5 { // on its side
		w, h = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			from := [...][2]int{{x, y}, {w - 1 - x, y}, {w - 1 - x, h - 1 - y}, {x, h - 1 - y},
				{y, x}, {y, w - 1 - x}, {h - 1 - y, w - 1 - x}, {h - 1 - y, x}}[orientation-1]
			out.SetRGBA(x, y, m.RGBAAt(from[0], from[1]))
		}
	}
	return out
}
