package screen

import (
	"slices"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
)

// Recorder keeps a take as it is played.
type Recorder interface {
	Add(capture.Message) []capture.Change
	Note(i int) capture.Note
	Take() *capture.Take
	Close() (path string, err error)
}

// Desk does for a lesson what needs files, judgement and the list of what is to be asked.
type Desk interface {
	// Ask returns what is to be played: the same as before, or the next.
	Ask(next bool) Asked
	// Record begins a take, whose times count from at on the clock of the piano.
	Record(at time.Duration) (Recorder, error)
	// Judge judges a finished take, which is kept at path.
	Judge(take *capture.Take, path string) Told
	// BrokenOff is told of a take that was begun and not finished, which is kept at path.
	BrokenOff(take *capture.Take, path string)
}

// Times of a lesson. Chosen by us.
const (
	lead     = 500 * time.Millisecond // silence kept before the first note
	tryPause = time.Second            // silence after which what was played was only tried
	leave    = 4 * time.Second        // and after which the page goes back
	patience = time.Minute            // how long a piano that is gone is waited for
	restful  = 5 * time.Minute        // a pause that is a rest
	tired    = 25 * time.Minute       // of playing without one
	reading  = 6 * time.Second        // how long a verdict stands before the same is asked again by itself
)

// tries is how many notes, followed by a silence, are only tried.
const tries = 3

// Lesson is one player at one piano. Its methods are for one goroutine. Times are those of the
// piano's clock.
type Lesson struct {
	desk     Desk
	show     func(tea.Msg)
	controls controls
	asked    Asked

	rec      Recorder
	offset   time.Duration
	follower *align.Follower
	begun    bool           // it is plain that the player has begun
	notes    []capture.Note // that the follower was told
	updates  []Struck       // what was thought of them, while it is not shown yet
	down     int            // keys
	last     time.Duration  // the last note, on the piano's clock

	patient  bool          // silences do not end a take
	gone     bool          // the piano, from
	from     time.Duration // and
	away     time.Duration // how long it was, since the last note
	playing  time.Duration // since the last rest
	reminded bool

	// Loop has the same asked again by itself, a while after it was told.
	Loop bool
	told time.Duration // when, on the piano's clock; 0 where nothing is told
}

// NewLesson begins a lesson; show is given what the page is to be told.
func NewLesson(desk Desk, keyboard Keyboard, show func(tea.Msg)) *Lesson {
	l := &Lesson{desk: desk, show: show, controls: controls{keyboard: keyboard}}
	l.ask(false)
	return l
}

func (l *Lesson) ask(next bool) {
	l.asked, l.told = l.desk.Ask(next), 0
	l.show(l.asked)
}

// Take is told every message of the piano, in order.
func (l *Lesson) Take(m capture.Message) {
	pass, control := l.controls.take(m, l.uses)
	for _, m := range pass {
		l.add(m)
	}
	l.Control(control)
}

// uses reports whether the player is asked to strike a key, so that it can be no control.
func (l *Lesson) uses(key uint8) bool {
	if l.begun {
		_, reading, shift := l.follower.Where()
		return sounds(l.asked.Candidates[reading].Notes, int(key)-shift)
	}
	for _, ref := range l.asked.Candidates {
		events := ref.Events()
		start := ref.Notes[:events[min(1, len(events)-1)]]
		if ref.Request == nil {
			start = ref.Notes
		}
		for shift := -60; shift <= 60; shift += 12 {
			if (shift == 0 || ref.Request != nil) && sounds(start, int(key)-shift) {
				return true
			}
		}
	}
	return false
}

func sounds(notes []references.Note, key int) bool {
	for i := range notes {
		if notes[i].Key() == key {
			return true
		}
	}
	return false
}

// Control does what was asked for at the keyboard of the piano or of the computer. A take under way
// is kept.
func (l *Lesson) Control(c Control) {
	if c == Again || c == Next {
		l.Close()
		l.ask(c == Next)
	}
}

func (l *Lesson) add(m capture.Message) {
	if l.rec == nil {
		if !isStrike(m) || !l.record(m.At) {
			return
		}
	}
	m.At = max(0, m.At-l.offset)
	for _, c := range l.rec.Add(m) {
		switch c.Kind {
		case capture.NoteBegan:
			l.down++
			l.strike(c.Index, l.rec.Note(c.Index))
		case capture.NoteEnded:
			l.down--
		}
	}
}

func (l *Lesson) record(at time.Duration) bool {
	l.offset = capture.RoundTick(max(0, at-lead))
	rec, err := l.desk.Record(l.offset)
	if err != nil {
		l.show(Told{Fault: err.Error()})
		return false
	}
	l.rec, l.down, l.begun, l.follower = rec, 0, false, nil
	return true
}

// strike follows a note that began.
func (l *Lesson) strike(i int, n capture.Note) {
	at := l.offset + n.On
	pause := at - l.last
	if l.follower == nil || len(l.notes) <= tries && pause > tryPause && l.opens(n) {
		l.follower = align.NewFollower(l.asked.Candidates)
		l.notes, l.updates, l.begun = nil, nil, false
	}
	l.tire(pause)
	l.last, l.away = at, 0
	s := Struck{Index: len(l.notes), Note: n}
	l.notes = append(l.notes, n)
	s.Updates = slices.Clone(l.follower.Note(n))
	s.Event, s.Reading, s.Shift = l.follower.Where()
	if l.begun {
		l.show(s)
		return
	}
	l.updates = append(l.updates, s)
	if !l.plain(s) {
		l.show(Touched{n.Key})
		return
	}
	l.begun = true
	l.show(Began{})
	for _, s := range l.updates {
		l.show(s)
	}
	l.updates = nil
}

// opens reports whether a note is the first of what was asked.
func (l *Lesson) opens(n capture.Note) bool {
	f := align.NewFollower(l.asked.Candidates)
	u := f.Note(n)
	at, _, _ := f.Where()
	return at == 0 && len(u) > 0 && u[0].Verdict == align.Correct
}

// plain reports whether it is plain that the player has begun: with the first note of what was
// asked, or with more notes than are only tried.
func (l *Lesson) plain(s Struck) bool {
	for _, u := range s.Updates {
		if u.Verdict == align.Correct && u.Played == s.Index && s.Event == 0 {
			return true
		}
	}
	return len(l.notes) > tries
}

// tire reminds of a rest once, after long playing.
func (l *Lesson) tire(pause time.Duration) {
	if pause > restful {
		l.playing = 0
		return
	}
	l.playing += max(0, pause)
	if l.playing > tired && !l.reminded {
		l.reminded = true
		l.show(Rest{})
	}
}

// Connected is told when the piano goes away or comes.
func (l *Lesson) Connected(p Piano, now time.Duration) {
	switch {
	case !p.There && !l.gone:
		l.from = now
	case p.There && l.gone:
		l.away += now - l.from
	}
	l.gone = !p.There
	l.show(p)
}

// Begun reports whether a take is being played.
func (l *Lesson) Begun() bool { return l.begun }

// Open reports whether a take is open or may be about to be, so that silences matter.
func (l *Lesson) Open() bool {
	return l.rec != nil || len(l.controls.held) > 0 || l.Loop && l.told > 0
}

// Silent is told the time now and then, when nothing waits to be taken.
func (l *Lesson) Silent(now time.Duration) {
	for _, m := range l.controls.silent(now) {
		l.add(m)
	}
	switch {
	case l.Loop && l.rec == nil && l.told > 0 && now-l.told > reading:
		l.ask(false)
	case l.rec == nil || l.follower == nil:
	case l.gone:
		if now-l.from > patience {
			l.finish(now)
		}
	case len(l.notes) <= tries:
		if l.begun && now-l.last > leave {
			l.begun, l.notes, l.updates, l.follower = false, nil, nil, nil
			l.show(Waiting{})
		}
	case l.follower.Advance(now-l.offset-l.away, l.down) && !l.patient:
		l.finish(now)
	}
}

// Finish ends a take under way by now, which is judged, and reports whether there was one.
func (l *Lesson) Finish(now time.Duration) bool {
	if l.rec == nil || l.follower == nil {
		return false
	}
	l.finish(now)
	return true
}

// Extend has a take end by no silence, but by Finish alone.
func (l *Lesson) Extend() { l.patient = true }

// finish ends the take by now. It is on disk before anything is told.
func (l *Lesson) finish(now time.Duration) {
	l.show(Over{})
	take := l.rec.Take()
	path, err := l.rec.Close()
	l.rec, l.begun, l.follower, l.notes = nil, false, nil, nil
	l.told = now
	told := l.desk.Judge(take, path)
	if err != nil {
		told.Fault = err.Error()
	}
	l.show(told)
}

// Close breaks off a take under way, which is kept.
func (l *Lesson) Close() (path string, err error) {
	if l.rec == nil {
		return "", nil
	}
	take, begun := l.rec.Take(), l.begun
	path, err = l.rec.Close()
	l.rec, l.begun, l.follower, l.notes = nil, false, nil, nil
	if begun && path != "" {
		l.desk.BrokenOff(take, path)
	}
	return path, err
}
