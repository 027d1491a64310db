package wav

// largeRoom is from how many samples on large pages are worth asking for: 4 MiB.
const largeRoom = 4 << 20 / 8

// Room returns n samples to be filled, all 0. It is make, but for many samples asks the system for large pages: with those of
// 4 KiB, the first touch of each may take longer than reading what goes there.
func Room(n int) []float64 {
	x := make([]float64, n)
	if n >= largeRoom {
		largePages(x)
	}
	return x
}
