package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"evenhand/capture"
	"evenhand/cmd/evenhand/screen"
	"evenhand/exam"
	"evenhand/journal"
)

// hall is where an exam is sat. It gives the sitting what happens, keeps each event before anything
// comes of it, and does what the sitting wants done. Its methods are for one goroutine.
type hall struct {
	ctx      context.Context
	sitting  *exam.Sitting
	book     *exam.Book
	parts    []*examPart
	h        *hearing
	src      *source
	keyboard screen.Keyboard
	sounder  sounder
	pupil    string
	show     func(tea.Msg)

	piano  screen.Piano
	lesson *screen.Lesson // while something is to be played
	desk   *examDesk      // of the lesson
	waiter *screen.Waiter // while nothing is

	unfollowed unfollowed
	hearing    *hearingEar      // an ear test while it goes on
	until      time.Time        // music may be looked at
	clock      *time.Ticker     // of that
	sounded    chan hearingOver // what was sounded to its end
	doubt      string           // an answer that was not understood
	resumed    bool             // the sitting was begun before
	faults     []error          // to be told at the beginning
	left       bool
	taken      error // another program goes on with the exam
}

// newHall opens a hall for a sitting whose events are in the store.
func newHall(ctx context.Context, s *exam.Sitting, store exam.Store, parts []*examPart, h *hearing, src *source, k screen.Keyboard) *hall {
	clock := time.NewTicker(time.Second)
	clock.Stop()
	return &hall{
		ctx: ctx, sitting: s, book: exam.NewBook(store, s.Events), parts: parts, h: h, src: src, keyboard: k,
		waiter: screen.NewWaiter(k), clock: clock, sounded: make(chan hearingOver, 1),
	}
}

// run sits the exam until somebody leaves, or ctx is done. What the page is told goes to show.
func (x *hall) run(acts <-chan screen.Act) error {
	defer x.clock.Stop()
	defer x.hush()
	x.enter()
	tick := time.NewTicker(look)
	defer tick.Stop()
	for !x.left {
		// Nothing waits for a silence while nobody plays.
		if x.lesson != nil && x.lesson.Open() {
			tick.Reset(look)
		} else {
			tick.Stop()
		}
		select {
		case <-x.ctx.Done():
			return x.flush()
		case a := <-acts:
			x.act(a)
		case s := <-x.sounded:
			x.heardOut(s)
		case <-x.clock.C:
			x.looked()
		case e, more := <-x.src.events:
			if err := x.take(e, more); err != nil {
				return errors.Join(err, x.flush())
			}
		case <-tick.C:
			if x.lesson != nil && len(x.src.events) == 0 {
				x.lesson.Silent(x.src.now())
				x.after()
			}
		}
	}
	if x.taken != nil {
		return x.taken
	}
	return x.flush()
}

// flush keeps what is not kept yet, though the program is told to end.
func (x *hall) flush() error {
	ctx, stop := context.WithTimeout(context.WithoutCancel(x.ctx), journalPatience)
	defer stop()
	return x.book.Flush(ctx)
}

// enter shows where the exam is, and what there is to know of it.
func (x *hall) enter() {
	x.piano = screen.Piano{There: true, Said: "listening to " + x.src.name}
	if len(x.src.events) == 0 && x.src.awaited {
		x.piano = screen.Piano{Said: noPiano}
	}
	x.show(x.piano)
	if x.resumed {
		x.happen(exam.Event{Kind: exam.Resumed, Part: min(x.sitting.At, len(x.sitting.Parts)-1)})
	} else {
		x.do([]exam.Effect{x.sitting.Now()})
	}
	for _, err := range x.faults {
		x.say("%v", err)
	}
	if x.sounder == nil && slices.ContainsFunc(x.parts, func(p *examPart) bool { return p.item != nil }) {
		x.say("the piano cannot be made to sound from here: ear tests are written as files")
	}
}

// take takes what the piano tells.
func (x *hall) take(e event, more bool) error {
	switch {
	case !more:
		x.src.events = nil
	case e.over != nil:
		return e.over
	case e.message != nil:
		x.message(*e.message)
	default:
		x.src.connected(e)
		x.h.measured(x.src.name)
		x.piano = screen.Piano{There: !e.gone, Said: e.said}
		if x.lesson != nil {
			x.lesson.Connected(x.piano, x.src.now())
		} else {
			x.show(x.piano)
		}
	}
	return nil
}

// message takes what was struck: for the take under way, as a beat that is tapped, or as a control.
func (x *hall) message(m capture.Message) {
	if x.lesson != nil {
		x.lesson.Take(m)
		x.after()
		return
	}
	if x.hearing != nil && x.hearing.taps() {
		if strikes(&m) && !x.hearing.comesBack(m) {
			x.hearing.tap(m.At, m.Data2)
		}
		return
	}
	pass, control := x.waiter.Take(m)
	if x.sitting.Phase == exam.Alone && !x.sitting.Pause {
		x.unfollowed.add(x, pass)
	}
	switch control {
	case screen.Next:
		x.act(screen.Act{Kind: screen.GoOn})
	case screen.Again:
		if x.sitting.Phase == exam.Offered {
			x.act(screen.Act{Kind: screen.AskPart, Part: x.sitting.At})
		}
	}
}

// say tells the page something in one line.
func (x *hall) say(format string, args ...any) {
	x.show(screen.Notice{Said: plain(fmt.Sprintf(format, args...))})
}

// happen has an event happen: it is kept, and then done.
func (x *hall) happen(e exam.Event) {
	e.Schema, e.At = exam.EventSchema, time.Now().UTC().Truncate(time.Microsecond)
	if err := x.sitting.Check(e); err != nil {
		x.say("%v", err)
		return
	}
	// What is done is kept though the program is told to end.
	ctx, stop := context.WithTimeout(context.WithoutCancel(x.ctx), journalPatience)
	unkept := x.book.Add(ctx, e)
	stop()
	if errors.Is(unkept, journal.ErrTaken) {
		x.left, x.taken = true, fmt.Errorf("%w: this one ends here", unkept)
		return
	}
	effects, err := x.sitting.Apply(e)
	if err == nil {
		x.do(effects)
	}
	if err = errors.Join(unkept, err); err != nil {
		x.say("%v; the exam goes on, and is kept as soon as it can be", err)
	}
}

// do does what the sitting wants done, and shows where it is.
func (x *hall) do(effects []exam.Effect) {
	if x.sitting.Phase != exam.Alone {
		x.unfollowed.keep(x)
	}
	for _, e := range effects {
		switch e.Do {
		case exam.Hush:
			x.hush()
		case exam.Show:
			x.until = time.Now().Add(time.Duration(x.sitting.Part().Reading.Look) * time.Second)
			x.clock.Reset(time.Second)
		case exam.Listen:
			x.listen()
		case exam.Ask:
			x.ask()
		}
	}
	if x.sitting.Phase != exam.Looking {
		x.clock.Stop()
	}
	x.stand()
	if x.sitting.Phase == exam.Looking {
		x.looked()
	}
}

// stand shows where the sitting is.
func (x *hall) stand() {
	x.show(x.standing())
	if x.piano.Said != "" {
		x.show(x.piano)
	}
}

// looked tells how long the music may be looked at, and goes on when that is over.
func (x *hall) looked() {
	if x.sitting.Phase != exam.Looking || x.sitting.Pause {
		x.clock.Stop()
		return
	}
	left := int(math.Ceil(time.Until(x.until).Seconds()))
	if left <= 0 {
		x.happen(exam.Event{Kind: exam.Proceeded})
		return
	}
	x.show(screen.Looked{Left: left})
}

// act does what the pupil or the teacher wants.
func (x *hall) act(a screen.Act) {
	at := x.sitting.At
	here := min(at, len(x.sitting.Parts)-1)
	simple := map[screen.ActKind]exam.EventKind{
		screen.GoOn: exam.Proceeded, screen.Decline: exam.Proceeded, screen.Afresh: exam.Restarted,
		screen.Skip: exam.Skipped, screen.Omit: exam.LeftOut,
	}
	if kind, ok := simple[a.Kind]; ok {
		x.happen(exam.Event{Kind: kind, Part: here})
		return
	}
	switch a.Kind {
	case screen.AskPart:
		x.happen(exam.Event{Kind: exam.Repeated, Part: a.Part})
	case screen.Say:
		x.happen(exam.Event{Kind: exam.Remarked, Part: a.Part, Words: a.Text})
		x.stand()
	case screen.Sign:
		x.happen(exam.Event{Kind: exam.Signed, Part: here, Words: a.Text})
		x.stand()
	case screen.Mark:
		x.mark(a)
	case screen.Pause:
		kind := exam.Paused
		if x.sitting.Pause {
			kind = exam.Resumed
		}
		x.happen(exam.Event{Kind: kind, Part: here})
		x.stand()
	case screen.How:
		x.show(screen.Verdict{Lines: x.verdict()})
	case screen.Leave:
		x.left = true
	default:
		x.actHearing(a)
	}
}

// actHearing does what is about the part at hand while it is heard.
func (x *hall) actHearing(a screen.Act) {
	switch a.Kind {
	case screen.Stop:
		switch {
		case x.lesson != nil && x.lesson.Finish(x.src.now()):
			x.after()
		case x.hearing != nil && x.hearing.taps():
			x.tapped()
		case x.hearing != nil && x.hearing.sounds:
			x.hearing.cancel()
			x.heardOut(hearingOver{of: x.hearing, at: x.hearing.at})
		default:
			x.say("nothing has been played yet: s skips it")
		}
	case screen.Longer:
		if x.lesson != nil {
			x.lesson.Extend()
			x.say("listening goes on through silences until e ends it")
		}
	case screen.Tap:
		if x.hearing != nil && x.hearing.taps() {
			x.hearing.tap(x.src.now(), 0)
		}
	case screen.Rehear:
		x.rehear()
	case screen.Reply:
		x.reply(a.Text)
	case screen.Right, screen.Half, screen.Wrong:
		x.spoken(map[screen.ActKind]float64{screen.Right: 1, screen.Half: 0.5}[a.Kind])
	}
}

// mark takes the teacher's mark, as it was typed.
func (x *hall) mark(a screen.Act) {
	e := exam.Event{Kind: exam.Marked, Part: a.Part}
	if a.Text != "" {
		n, err := strconv.Atoi(a.Text)
		if err != nil {
			x.say("%q is no mark: type a whole number from 0 to 100, or nothing to take a mark back", a.Text)
			return
		}
		e.Mark = &n
	}
	x.happen(e)
	x.stand()
}
