package pupil_test

import (
	"fmt"

	"evenhand/capture/pupil"
	"evenhand/references"
)

// A pupil plays five notes up and down and takes F sharp for F on the way up.
func Example() {
	ref, err := references.Request{Kind: references.FiveFinger, Octaves: 1, Hands: references.RightAlone}.Reference()
	if err != nil {
		fmt.Println(err)
		return
	}
	take, truth := pupil.Play(ref, pupil.Pupil{
		Exact:  true,
		Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: 3, By: 1}},
	})
	fmt.Println(len(take.Notes), "notes,", truth.Count(pupil.Correct), "of them right")
	for i, e := range truth.Expected {
		if e.Role == pupil.Wrong {
			fmt.Printf("%s was %d semitone off\n", ref.Notes[i].Pitch.Name, int(take.Notes[e.Played].Key)-e.Key)
		}
	}
	// Output:
	// 9 notes, 8 of them right
	// F was 1 semitone off
}
