package main

import (
	"bytes"
	"fmt"

	"evenhand/capture"
	"evenhand/journal"
	"evenhand/report"
)

// shownTake is a take of the journal with the music that its assessment was measured against.
func shownTake(t *journal.Take, scores []string) (*report.Take, error) {
	a, err := findAsked(t.Asked, scores)
	if err != nil {
		return nil, err
	}
	take, err := capture.ReadSMF(bytes.NewReader(t.SMF), fmt.Sprintf("take %d", t.ID))
	if err != nil {
		return nil, err
	}
	alignment, _ := a.judgeWhole(take, t.Outcome.Take, t.Outcome.Settings)
	shown := &report.Take{
		Reference: alignment.Reference, Assessment: t.Outcome, Amended: t.Amendment(), Asked: a.title,
		Pupil: t.Pupil, Started: t.Started.Local(), Piano: t.Device,
	}
	if t.Words != nil {
		shown.Words, shown.Mark = t.Words.Said, t.Words.Mark
	}
	return shown, nil
}
