package plot

import "fmt"

// Ordinal returns the name of a harmonic in a legend: "2nd", "3rd", "4th".
func Ordinal(n int) string {
	switch n {
	case 2:
		return "2nd"
	case 3:
		return "3rd"
	}
	return fmt.Sprintf("%dth", n)
}
