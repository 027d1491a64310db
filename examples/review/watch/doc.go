// Package watch is an assistant during recording. It watches the folder that a recorder writes
// into. While the pair is still on the rig, it says what each recording is, whether it is good
// enough and what to record next, and it proposes the session file line by line.
//
//	folder ── look ── files ── settled ── identify, judge ── verdict ── page
//
// It only reads recordings. It writes the session file and the report, each on request.
package watch
