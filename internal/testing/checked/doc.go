// Package checked holds the table of outside checks, checks.md, and two tests: every computation that
// the library exports has its row there, and no exported name is for tests only. It exports nothing.
package checked
