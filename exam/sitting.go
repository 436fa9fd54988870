package exam

import (
	"time"

	"evenhand/exam/questions"
)

// Phase is what a sitting waits for.
type Phase string

// The phases.
const (
	Before    Phase = "before"    // a section is about to begin
	Looking   Phase = "looking"   // the pupil looks at music to be read at sight
	Playing   Phase = "playing"   // the piano listens
	Answering Phase = "answering" // a question or an ear test waits for its answer
	Offered   Phase = "offered"   // something else was played: is it to be asked again?
	Alone     Phase = "alone"     // the program cannot hear this part: the teacher marks it
	Ended     Phase = "ended"
)

// Sitting is one exam while it is sat. Its state is a function of its events alone: it has no clock and
// no files. The zero value waits for its Opened event.
type Sitting struct {
	Paper *Paper
	Steps []int                        // by part
	Asked map[int][]questions.Question // by part
	Parts []Course

	At    int // index of the part at hand; len(Parts) at the end
	Step  int // which of its steps, from 0
	Phase Phase
	Pause bool
	Since time.Time // when the step at hand was asked

	Opened time.Time
	Signed string // the teacher who signed the sheet
	Events int

	Back *Place    // where an earlier part that is asked again was asked from
	Last time.Time // of the last event
}

// Course is what became of a part.
type Course struct {
	Time     time.Duration // spent on it, without pauses
	Tries    []Try         // in order; the last of each step counts
	Restarts int           // by the pupil
	Repeats  int           // asked again by the teacher
	Offered  bool          // something else was played first, and it was offered to ask again
	Skipped  bool          // nothing of it was heard
	Done     bool
	Remarks  []string // the teacher's
	Mark     *int     // the teacher's
}

// Try is one take or one answer. One of the two is set.
type Try struct {
	Step  int
	Heard *Heard
	Reply *Reply
}

// Place is where a sitting was.
type Place struct {
	At, Step int
	Phase    Phase
}

// Last is the try that counts of a step, nil where there is none.
func (c *Course) Last(step int) *Try {
	for i := len(c.Tries) - 1; i >= 0; i-- {
		if c.Tries[i].Step == step {
			return &c.Tries[i]
		}
	}
	return nil
}

// Do is what a sitting wants done.
type Do string

// What is done.
const (
	Introduce Do = "introduce" // tell of the section at hand
	Show      Do = "show"      // the music to be read, for so long as it may be looked at
	Listen    Do = "listen"    // ask for the part at hand and listen
	Ask       Do = "ask"       // ask the question at hand, or sound the ear test and wait for the answer
	Offer     Do = "offer"     // to ask again
	Wait      Do = "wait"      // for the teacher
	Hush      Do = "hush"      // stop listening; what is being played does not count
	Finish    Do = "finish"    // show the mark sheet
)

// Effect is one thing to be done, about the part and step at hand.
type Effect struct {
	Do   Do
	Part int
	Step int
}

// Apply takes one event and returns what is to be done. Where the event cannot happen the error says why
// in one line, and nothing has changed.
func (s *Sitting) Apply(e Event) ([]Effect, error) {
	if err := s.Check(e); err != nil {
		return nil, err
	}
	s.spend(e)
	s.Events++
	before := *s
	s.happen(e)
	if e.Kind == Paused {
		return []Effect{{Hush, s.At, s.Step}}, nil
	}
	if s.At == before.At && s.Step == before.Step && s.Phase == before.Phase && !asksAgain(e.Kind) {
		return nil, nil
	}
	s.Since = e.At
	var out []Effect
	if !before.Pause && (before.Phase == Playing || before.Phase == Answering) {
		out = append(out, Effect{Hush, before.At, before.Step})
	}
	if s.Pause {
		return out, nil
	}
	return append(out, s.Now()), nil
}

// asksAgain reports whether an event asks anew for what was asked before.
func asksAgain(k EventKind) bool {
	return k == Restarted || k == Repeated || k == Resumed
}

// Now is what is to be done for the sitting to go on from where it is.
func (s *Sitting) Now() Effect {
	does := map[Phase]Do{Before: Introduce, Looking: Show, Playing: Listen, Answering: Ask, Offered: Offer, Alone: Wait, Ended: Finish}
	return Effect{does[s.Phase], s.At, s.Step}
}

// Part is the part at hand, nil at the end.
func (s *Sitting) Part() *Part {
	if s.Paper == nil || s.At >= len(s.Paper.Parts) {
		return nil
	}
	return &s.Paper.Parts[s.At]
}

// spend gives the time since the last event to the part at hand. The time before a Resumed is nobody's.
func (s *Sitting) spend(e Event) {
	d := e.At.Sub(s.Last)
	s.Last = e.At
	if s.Events == 0 || s.Pause || e.Kind == Resumed || d <= 0 || s.Phase == Before || s.Phase == Ended {
		return
	}
	s.Parts[s.At].Time += d
}

// happen changes the sitting by an event that can happen.
func (s *Sitting) happen(e Event) {
	switch e.Kind {
	case Opened:
		s.Paper, s.Steps, s.Asked, s.Opened = e.Open.Paper, e.Open.Steps, e.Open.Questions, e.At
		s.Parts = make([]Course, len(s.Paper.Parts))
		s.Phase = Before
	case Proceeded:
		s.proceed()
	case WasHeard:
		s.heard(e.Heard)
	case WasAnswered:
		s.try(Try{Step: s.Step, Reply: e.Reply})
		s.next()
	case Restarted:
		s.Parts[s.At].Restarts++
		s.enter()
	case Repeated:
		s.again(e.Part)
	case Skipped:
		s.Parts[s.At].Skipped = len(s.Parts[s.At].Tries) == 0
		s.leave()
	case LeftOut:
		s.leaveOut()
	case Remarked:
		c := &s.Parts[e.Part]
		c.Remarks = append(c.Remarks, e.Words)
	case Marked:
		s.Parts[e.Part].Mark = e.Mark
	case Paused:
		s.Pause = true
	case Resumed:
		s.Pause = false
	case Signed:
		s.Signed = e.Words
	}
}

func (s *Sitting) try(t Try) { s.Parts[s.At].Tries = append(s.Parts[s.At].Tries, t) }

func (s *Sitting) proceed() {
	switch s.Phase {
	case Before:
		s.enter()
	case Looking:
		s.Phase = Playing
	case Offered:
		s.next()
	case Alone:
		s.leave()
	}
}

// heard goes on, unless something else was played: then it is offered once to ask again.
func (s *Sitting) heard(h *Heard) {
	c := &s.Parts[s.At]
	s.try(Try{Step: s.Step, Heard: h})
	if s.Paper.Parts[s.At].Kind == Request && !h.Assessment.Heard.AsAsked && !c.Offered {
		c.Offered, s.Phase = true, Offered
		return
	}
	s.next()
}

// again asks a part once more: the one at hand, whose offer it may take up, or an earlier one, after
// which the exam goes on where it was.
func (s *Sitting) again(part int) {
	c := &s.Parts[part]
	if part != s.At {
		s.Back = &Place{s.At, s.Step, s.Phase}
		s.At, s.Step = part, 0
	}
	if s.Phase != Offered || s.Back != nil {
		c.Repeats++
	}
	c.Skipped = false
	s.enter()
}

// enter asks for the step at hand.
func (s *Sitting) enter() {
	p := s.Part()
	switch {
	case s.Steps[s.At] == 0:
		s.Phase = Alone
	case p.Kind == SightReading && p.Reading.Look > 0:
		s.Phase = Looking
	case p.Kind == Questions || p.Kind == Ear:
		s.Phase = Answering
	default:
		s.Phase = Playing
	}
}

// next goes to the next step, or leaves the part.
func (s *Sitting) next() {
	if s.Step+1 < s.Steps[s.At] {
		s.Step++
		s.enter()
		return
	}
	s.leave()
}

// leave goes on after a part: back to where it was asked again from, or to the next one. A section is
// introduced before it begins.
func (s *Sitting) leave() {
	s.Parts[s.At].Done = true
	if b := s.Back; b != nil {
		s.At, s.Step, s.Phase, s.Back = b.At, b.Step, b.Phase, nil
		return
	}
	section := s.Paper.Parts[s.At].Section
	for s.At++; s.At < len(s.Parts) && s.Parts[s.At].Skipped; s.At++ {
		s.Parts[s.At].Done = true
	}
	s.Step = 0
	switch {
	case s.At == len(s.Parts):
		s.Phase = Ended
	case s.Paper.Parts[s.At].Section != section:
		s.Phase = Before
	default:
		s.enter()
	}
}

// leaveOut skips what is left of the section at hand.
func (s *Sitting) leaveOut() {
	section := s.Paper.Parts[s.At].Section
	for i := s.At; i < len(s.Parts); i++ {
		if s.Paper.Parts[i].Section == section {
			s.Parts[i].Skipped = len(s.Parts[i].Tries) == 0
		}
	}
	s.leave()
}
