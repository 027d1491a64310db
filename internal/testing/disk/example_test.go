package disk_test

import (
	"fmt"
	"strings"

	"example.com/earnest/internal/testing/disk"
)

func Example() {
	file := disk.Failing{ReaderAt: strings.NewReader("whole and broken"), From: 5}
	b := make([]byte, 5)
	n, err := file.ReadAt(b, 0)
	fmt.Println(n, err)
	n, err = file.ReadAt(b, 5)
	fmt.Println(n, err)
	// Output:
	// 5 <nil>
	// 0 the disk is broken
}
