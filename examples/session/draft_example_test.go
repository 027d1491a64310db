package session_test

import (
	"fmt"
	"os"

	"example.com/earnest/examples/session"
	"example.com/earnest/target/review"
)

// A session file grows with the recordings: each is proposed, and written when one says so.
func ExampleReadDraft() {
	folder, err := os.MkdirTemp("", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	draft, err := session.ReadDraft(folder) // there is no file yet
	if err != nil {
		fmt.Println(err)
		return
	}
	lines := draft.Propose("Wren", "flat plate", []session.Recorded{
		{File: "a.wav", Candidate: review.Candidate{Role: review.DirectSweep, Left: 1, Right: 2}},
		{File: "b.wav", Candidate: review.Candidate{Role: review.ThroughSweep, Left: 1}},
	})
	if err := draft.Write(lines); err != nil {
		fmt.Println(err)
		return
	}
	draft, err = session.ReadDraft(folder)
	fmt.Print(draft.Text())
	fmt.Println(err)
	// Output:
	// [headphones]
	// name = "Wren"
	//
	// [rig]
	// name = "flat plate"
	//
	// [direct]
	// file = "a.wav"
	//
	// [[seating]]
	// left = { file = "b.wav" }
	// <nil>
}
