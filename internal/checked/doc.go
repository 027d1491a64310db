// Package checked holds the test that DEVELOPERS.md names an outside check for every
// computation that the library exports. It exports nothing.
package checked
