// Package checked holds the table of outside checks, checks.md, and three tests: every computation
// that the library exports has a row in it, no exported name is for tests only, and the glossary's
// names in the code exist. It exports nothing.
package checked
