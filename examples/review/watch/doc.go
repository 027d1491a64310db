// Package watch is the assistant: it watches the folder that a recorder writes into, says of every
// recording what it is, whether it will do and what comes next while the pair still sits on the rig, and
// proposes the session file line by line.
//
//	folder ── look ── files ── settled ── identify, judge ── verdict ── page
//
// Recordings are only read. What it writes is the session file and the report, each when it is told.
package watch
