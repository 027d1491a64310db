package opinion_test

import (
	"fmt"
	"log"

	"example.com/earnest/examples/opinion"
)

func ExampleHTML() {
	const words = "It **clamps**, [says](javascript:alert(1)) everybody.<script>alert(1)</script>"
	html, err := opinion.HTML(words, nil, 3, func(text string) string { return text })
	if err != nil {
		log.Fatal(err)
	}
	fmt.Print(html)
	fmt.Println(opinion.Photos("![The pads](pads.jpg)"))
	// Output:
	// <p>It <strong>clamps</strong>, says everybody.alert(1)</p>
	// [pads.jpg]
}

func ExampleReadPhoto() {
	_, err := opinion.ReadPhoto("example_test.go")
	fmt.Println(err)
	// Output: opinion: example_test.go: photograph cannot be used: it is not a JPEG, PNG or GIF file (image: unknown format); save it as JPEG
}
