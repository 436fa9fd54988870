package exam

import (
	"errors"
	"fmt"
	"slices"
)

// errNotNow is why an event cannot happen.
func errNotNow(e Event, why string) error { return fmt.Errorf("it cannot be %s now: %s", e.Kind, why) }

// Check reports in one line why an event cannot happen now, or nil.
func (s *Sitting) Check(e Event) error {
	switch {
	case s.Paper == nil:
		return checkOpen(e)
	case e.Part < 0 || e.Part >= len(s.Parts):
		return errNotNow(e, fmt.Sprintf("there is no part %d", e.Part+1))
	}
	if err := e.complete(); err != nil {
		return err
	}
	phases, known := happensIn[e.Kind]
	switch {
	case !known:
		return fmt.Errorf("nothing is known of the event %q", e.Kind)
	case e.Kind == Remarked || e.Kind == Marked || e.Kind == Resumed:
		return nil
	case s.Pause && e.Kind != Signed:
		return errNotNow(e, "there is a pause")
	case !slices.Contains(phases, s.Phase):
		return errNotNow(e, "the exam is "+string(s.Phase))
	case e.Kind == Repeated:
		return s.checkRepeated(e)
	case e.Kind == LeftOut && s.Back != nil:
		return errNotNow(e, "an earlier part is being asked again")
	}
	return nil
}

// happensIn are the phases in which each kind of event can happen. What is said of Remarked, Marked and
// Resumed is that they always can.
var happensIn = map[EventKind][]Phase{
	Proceeded:   {Before, Looking, Offered, Alone},
	WasHeard:    {Playing},
	WasAnswered: {Answering},
	Restarted:   {Looking, Playing, Answering},
	Repeated:    {Before, Looking, Playing, Answering, Offered, Alone, Ended},
	Skipped:     {Looking, Playing, Answering, Offered, Alone},
	LeftOut:     {Before, Looking, Playing, Answering, Offered, Alone},
	Paused:      {Before, Looking, Playing, Answering, Offered, Alone},
	Signed:      {Ended},
	Remarked:    nil,
	Marked:      nil,
	Resumed:     nil,
}

// complete reports what an event does not say that it should.
func (e *Event) complete() error {
	switch {
	case (e.Kind == Remarked || e.Kind == Signed) && e.Words == "":
		return errNotNow(*e, "nothing is said")
	case e.Kind == Marked && e.Mark != nil && (*e.Mark < 0 || *e.Mark > 100):
		return errNotNow(*e, "a mark goes from 0 to 100")
	case e.Kind == WasHeard && (e.Heard == nil || e.Heard.Assessment == nil):
		return errNotNow(*e, "nothing was heard")
	case e.Kind == WasAnswered && (e.Reply == nil || !(e.Reply.Share >= 0 && e.Reply.Share <= 1)):
		return errNotNow(*e, "there is no answer")
	}
	return nil
}

func (s *Sitting) checkRepeated(e Event) error {
	switch {
	case e.Part > s.At || e.Part == s.At && s.Phase == Before:
		return errNotNow(e, "that part is still to come")
	case s.Back != nil && e.Part != s.At:
		return errNotNow(e, "an earlier part is being asked again")
	case s.Steps[e.Part] == 0:
		return errNotNow(e, "the teacher marks that part alone")
	}
	return nil
}

func checkOpen(e Event) error {
	switch {
	case e.Kind != Opened:
		return errors.New("the exam has not begun")
	case e.Open == nil || e.Open.Paper == nil || len(e.Open.Steps) != len(e.Open.Paper.Parts):
		return errors.New("the exam has no paper")
	}
	for _, n := range e.Open.Steps {
		if n < 0 {
			return errors.New("the paper of the exam is damaged")
		}
	}
	return e.Open.Paper.check()
}
