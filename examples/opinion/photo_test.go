//go:build !race

package opinion

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
)

// corner is an image whose corner at the top left is red and the rest grey.
func corner(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.Gray{128})
			if x < w/2 && y < h/2 {
				m.Set(x, y, color.RGBA{255, 0, 0, 255})
			}
		}
	}
	return m
}

// encoded is an image as a JPEG file with a place, a camera and an orientation in Exif.
func encoded(t testing.TB, m image.Image, orientation uint16) []byte {
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, m, nil))
	tiff := []byte("MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x00\x00\x00\x00\x00\x00\x00GPS 51.5007N CAMERA-4711")
	binary.BigEndian.PutUint16(tiff[18:], orientation)
	segment := append([]byte("Exif\x00\x00"), tiff...)
	head := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(segment)+2))
	return bytes.Join([][]byte{out.Bytes()[:2], head, segment, out.Bytes()[2:]}, nil)
}

func write(t testing.TB, name string, data []byte) string {
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, data, 0o644))
	return path
}

// The place of the recorded top left corner in each Exif orientation (Exif 2.3, from memory).
func TestPhotosStandUpright(t *testing.T) {
	for orientation, at := range map[uint16][2]int{0: {0, 0}, 1: {0, 0}, 2: {1, 0}, 3: {1, 1}, 4: {0, 1}, 5: {0, 0}, 6: {1, 0}, 7: {1, 1}, 8: {0, 1}, 9: {0, 0}} {
		photo, err := ReadPhoto(write(t, "a.jpg", encoded(t, corner(64, 32), orientation)))
		require.NoError(t, err)
		m, err := jpeg.Decode(bytes.NewReader(photo))
		require.NoError(t, err)
		w, h := m.Bounds().Dx(), m.Bounds().Dy()
		assert.Equal(t, orientation >= 5 && orientation <= 8, h > w, "orientation %d", orientation)
		r, g, _, _ := m.At(w/4+at[0]*w/2, h/4+at[1]*h/2).RGBA()
		assert.Greater(t, int(r)-int(g), 40000, "orientation %d: red is where it belongs", orientation)
	}
}

func TestNothingButThePictureIsKept(t *testing.T) {
	given := encoded(t, corner(3000, 1500), 1)
	require.Contains(t, string(given), "GPS 51.5007N")
	photo, err := ReadPhoto(write(t, "a.jpg", given))
	require.NoError(t, err)
	for _, none := range []string{"GPS", "Exif", "CAMERA", "\xff\xe1", "\xff\xe2", "\xff\xfe"} {
		assert.NotContains(t, string(photo), none)
	}
	config, err := jpeg.DecodeConfig(bytes.NewReader(photo))
	require.NoError(t, err)
	assert.Equal(t, [2]int{1280, 640}, [2]int{config.Width, config.Height})
}

// What ffmpeg writes, with a place and a name in its metadata, is read; progressive files too,
// which it does not write.
func TestFilesOfAnotherProgram(t *testing.T) {
	long.Skip(t)
	ffmpeg := programs.Need(t, "ffmpeg")
	for _, name := range []string{"a.jpg", "a.png", "a.gif"} {
		path := filepath.Join(t.TempDir(), name)
		said, err := exec.Command(ffmpeg, "-loglevel", "error", "-f", "lavfi", "-i", "testsrc2=s=1600x1000", "-frames:v", "1",
			"-metadata", "title=SECRET", "-metadata", "comment=SECRET", path).CombinedOutput()
		require.NoError(t, err, string(said))
		photo, err := ReadPhoto(path)
		require.NoError(t, err)
		assert.NotContains(t, string(photo), "SECRET")
		assert.NotContains(t, string(photo), "Lavc")
	}
}

// pngOf returns the header of a PNG file of a given size, without its pixels.
func pngOf(w, h uint32) []byte {
	out := []byte("\x89PNG\r\n\x1a\n")
	chunk := append([]byte("IHDR"), make([]byte, 13)...)
	binary.BigEndian.PutUint32(chunk[4:], w)
	binary.BigEndian.PutUint32(chunk[8:], h)
	chunk[12], chunk[13] = 8, 2
	out = append(binary.BigEndian.AppendUint32(out, 13), chunk...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
}

func TestFilesThatAreNoPhotos(t *testing.T) {
	var small, animated bytes.Buffer
	require.NoError(t, png.Encode(&small, corner(8, 8)))
	require.NoError(t, gif.Encode(&animated, corner(8, 8), nil))
	scans := append(encoded(t, corner(8, 8), 1), bytes.Repeat([]byte{0xff, 0xda}, 200)...)
	wide := encoded(t, corner(8, 8), 1)
	at := bytes.Index(wide, []byte{0xff, 0xc0})
	copy(wide[at+5:], []byte{0xff, 0xff, 0xff, 0xff}) // 65535 × 65535
	progressive := bytes.Clone(wide)
	progressive[at+1] = 0xc2
	copy(progressive[at+5:], []byte{0x13, 0x88, 0x13, 0x88}) // 5000 × 5000
	progressive = bytes.Join([][]byte{progressive[:at], []byte("\x00\x01\xff\xff"), progressive[at:]}, nil)
	random := make([]byte, 1<<20)
	r := rand.NewChaCha8([32]byte{1})
	r.Read(random) //nolint:errcheck // it returns none
	for name, row := range map[string]struct {
		data []byte
		says string
	}{
		"text":                 {[]byte("#!/bin/sh\nrm -rf ~\n"), "it is not a JPEG, PNG or GIF"},
		"empty":                {nil, "it is not a JPEG"},
		"a page":               {[]byte("<svg onload='alert(1)'></svg>"), "it is not a JPEG"},
		"noise":                {random, "it is not a JPEG"},
		"a bomb":               {pngOf(100_000, 100_000), "100000 × 100000 pixels, but at most"},
		"a large JPEG":         {wide, "65535 × 65535 pixels"},
		"hidden progressive":   {progressive, "5000 × 5000 pixels"},
		"many scans":           {scans, "more than 100 scans"},
		"cut off":              {small.Bytes()[:60], "it is incomplete"},
		"no data":              {pngOf(100, 100), "it is incomplete"},
		"cut off in animation": {animated.Bytes()[:30], "it is not a JPEG"},
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := ReadPhoto(write(t, "photo", row.data))
		runtime.ReadMemStats(&after)
		require.ErrorIs(t, err, ErrPhoto, name)
		assert.ErrorContains(t, err, row.says, name)
		assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(8<<20), "%s: no memory out of proportion", name)
	}
	_, err := ReadPhoto(t.TempDir())
	assert.ErrorContains(t, err, "not a regular file")
	_, err = ReadPhoto(filepath.Join(t.TempDir(), "none.jpg"))
	assert.ErrorIs(t, err, os.ErrNotExist)
	huge := write(t, "huge.jpg", nil)
	require.NoError(t, os.Truncate(huge, maxFile+1))
	_, err = ReadPhoto(huge)
	assert.ErrorContains(t, err, "it has 40 MB, but at most 40 are read")
}

func FuzzReadPhoto(f *testing.F) {
	var small, pixel bytes.Buffer
	require.NoError(f, png.Encode(&small, corner(8, 8)))
	require.NoError(f, gif.Encode(&pixel, corner(8, 8), nil))
	f.Add(small.Bytes())
	f.Add(pixel.Bytes())
	f.Add(encoded(f, corner(8, 8), 6))
	path := filepath.Join(f.TempDir(), fmt.Sprint(os.Getpid()))
	f.Fuzz(func(t *testing.T, data []byte) {
		require.NoError(t, os.WriteFile(path, data, 0o644))
		photo, err := ReadPhoto(path)
		if err != nil {
			return
		}
		config, err := jpeg.DecodeConfig(bytes.NewReader(photo))
		require.NoError(t, err)
		assert.True(t, config.Width <= longerSide && config.Height <= longerSide)
	})
}
