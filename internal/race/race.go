// Package race tells whether the race detector runs, which makes everything some
// ten times slower: tests of accuracy then take fewer cases, for a race shows in
// the first few as well as in all.
package race
