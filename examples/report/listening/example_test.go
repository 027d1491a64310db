package listening_test

import (
	"bytes"
	"fmt"
	"log"
	"strings"

	"example.com/earnest/examples/report/listening"
	"example.com/earnest/response/programme/excerpt"
)

func ExampleWrite() {
	second := make([]float64, 48000)
	tune := listening.Piece{Name: "a tune", SampleRate: 48000, Versions: []excerpt.Version{
		{Name: excerpt.Direct, Samples: second},
		{Name: excerpt.Through, Samples: second},
	}}
	var page bytes.Buffer
	if err := listening.Write(&page, "Wren", []listening.Piece{tune}); err != nil {
		log.Fatal(err)
	}
	fmt.Println(strings.Contains(page.String(), "a tune: direct against through the headphones"))
	// Output: true
}
