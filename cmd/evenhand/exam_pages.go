package main

import (
	"context"
	"errors"
	"slices"
	"strings"

	"evenhand/exam"
	"evenhand/journal"
	"evenhand/report"
)

// keptExams are the exams of the journal, for pages.
type keptExams struct{ *journal.Journal }

// List are the exams of all pupils, the last begun first.
func (k keptExams) List(ctx context.Context) ([]report.SheetLine, error) {
	pupils, err := k.Pupils(ctx)
	if err != nil {
		return nil, err
	}
	var all []report.SheetLine
	for _, p := range pupils {
		sittings, err := k.Sittings(ctx, p.Name)
		if err != nil {
			return nil, err
		}
		for _, s := range sittings {
			state, err := howFar(ctx, k.Journal, s.ID)
			if err != nil {
				return nil, err
			}
			all = append(all, report.SheetLine{Number: s.ID, Pupil: s.Pupil, List: s.Title, Begun: s.Opened, State: state})
		}
	}
	slices.SortStableFunc(all, func(a, b report.SheetLine) int { return b.Begun.Compare(a.Begun) })
	return all, nil
}

// Sheet is the mark sheet of an exam as it stands; nil where there is none of the number.
func (k keptExams) Sheet(ctx context.Context, number int64) (*exam.MarkSheet, error) {
	at, err := keptExam(ctx, k.Journal, number)
	switch {
	case errors.Is(err, journal.ErrNoSitting):
		return nil, nil
	case err != nil:
		return nil, err
	}
	return sheetOf(at.sitting, at.pupil), nil
}

// examNamed reads "exam 3"; false where something else is named.
func examNamed(what string) (number int64, is bool, err error) {
	word, rest, found := strings.Cut(what, " ")
	if !found || !strings.EqualFold(word, "exam") {
		return 0, false, nil
	}
	number, err = sittingNumber(strings.TrimSpace(rest))
	return number, true, err
}
