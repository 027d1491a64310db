// Package checked holds the table of outside checks, checks.md, and the test that every
// computation that the library exports has its row there. It exports nothing.
package checked
