package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"evenhand/capture"
	"evenhand/cmd/evenhand/screen"
	"evenhand/exam"
	"evenhand/exam/ear"
	"evenhand/scoring"
)

// examDesk keeps and judges what is played for one part.
type examDesk struct {
	x      *hall
	asked  *asked
	listed bool // the takes are in the journal under what was asked
	calls  int
	wish   screen.Control // struck on the piano

	given *broken     // not judged
	heard *exam.Heard // what was made of one that is
	take  *capture.Take
	echo  *ear.Item // a phrase that is played back; nil for all else
}

// broken is a take that was begun and not finished.
type broken struct {
	take *capture.Take
	path string
}

// BrokenOff implements screen.Desk. Whether it counts depends on why.
func (d *examDesk) BrokenOff(take *capture.Take, path string) { d.given = &broken{take, path} }

// Ask implements screen.Desk. Asked another time, the player has struck a control.
func (d *examDesk) Ask(next bool) screen.Asked {
	if d.calls++; d.calls > 1 {
		d.wish = screen.Again
		if next {
			d.wish = screen.Next
		}
	}
	return screen.Asked{Words: d.asked.title, Candidates: d.asked.candidates, Settings: d.x.h.settings}
}

// Record implements screen.Desk.
func (d *examDesk) Record(at time.Duration) (screen.Recorder, error) {
	d.x.h.asked = d.asked
	rec, err := d.x.h.record(d.x.src, at)
	if err != nil {
		return nil, err
	}
	return rec, nil
}

// Judge implements screen.Desk. The take is in the journal before anything is made of it.
func (d *examDesk) Judge(take *capture.Take, path string) screen.Told {
	a := d.keep(take, path)
	d.given, d.heard, d.take = nil, d.x.heard(take, path, a), take
	return screen.Told{}
}

// keep judges a take and keeps it in the journal. Music made afresh is kept as free practice: nobody can
// ask for it again.
func (d *examDesk) keep(take *capture.Take, path string) *scoring.Assessment {
	a := d.asked.judge(take, path, d.x.h.settings)
	what, outcome := d.asked.against, a
	if !d.listed {
		what, outcome = "", nil
	}
	if err := d.x.h.journal.keep(d.x.ctx, take, path, what, practised(take), outcome); err != nil {
		d.x.say("%v", err)
	}
	return a
}

// heard is what a sitting is told of a take.
func (x *hall) heard(take *capture.Take, path string, a *scoring.Assessment) *exam.Heard {
	short := *a
	short.Notes = nil
	h := &exam.Heard{Seconds: practised(take).Seconds(), Assessment: &short}
	if e, err := entry(take, path, "", 0, nil); err == nil {
		sum := sha256.Sum256(e.SMF)
		h.Take = hex.EncodeToString(sum[:])
	}
	if len(take.Notes) > 0 && !take.Started.IsZero() {
		h.Thought = max(0, take.Started.Add(take.Notes[0].On).Sub(x.sitting.Since).Seconds())
	}
	return h
}

// listen asks for the part at hand and listens.
func (x *hall) listen() {
	p := x.parts[x.sitting.At]
	if p.asked == nil {
		x.say("%s s goes on, m marks it", p.fault)
		return
	}
	x.attend(&examDesk{x: x, asked: p.asked, listed: p.listed})
}

// attend opens a lesson in which one thing is played.
func (x *hall) attend(d *examDesk) {
	x.desk = d
	x.h.settings = x.sitting.Paper.Settings(x.sitting.Part(), x.h.settings.Calibration)
	x.lesson = screen.NewLesson(d, x.keyboard, x.during)
	x.lesson.Connected(x.piano, x.src.now())
}

// during tells the page what goes on in a lesson, and no verdict.
func (x *hall) during(msg tea.Msg) {
	switch msg := msg.(type) {
	case screen.Asked, screen.Rest:
	case screen.Told:
		if msg.Fault != "" {
			x.say("%s", msg.Fault)
		}
	default:
		x.show(msg)
	}
}

// after looks at what came of the last message or silence.
func (x *hall) after() {
	d := x.desk
	switch {
	case d.heard != nil:
		x.lesson = nil
		x.played(d)
	case d.wish == screen.Next && d.given != nil:
		d.Judge(d.given.take, d.given.path)
		x.lesson = nil
		x.played(d)
	case d.wish == screen.Again:
		d.wish = screen.NoControl
		x.happen(exam.Event{Kind: exam.Restarted, Part: x.sitting.At})
	default:
		d.wish = screen.NoControl
	}
}

// played tells the sitting what was heard.
func (x *hall) played(d *examDesk) {
	if d.echo == nil {
		x.happen(exam.Event{Kind: exam.WasHeard, Part: x.sitting.At, Heard: d.heard})
		return
	}
	r := earReply(d.echo, "played back", d.echo.JudgeEcho(d.take).Verdict)
	r.Take = d.heard.Take
	x.happen(exam.Event{Kind: exam.WasAnswered, Part: x.sitting.At, Reply: r})
}

// hush stops listening and sounding. A take under way is kept, and does not count.
func (x *hall) hush() {
	x.unfollowed.keep(x)
	if x.hearing != nil {
		x.hearing.stop()
		x.hearing = nil
	}
	if x.lesson == nil {
		return
	}
	l, d := x.lesson, x.desk
	x.lesson = nil
	if _, err := l.Close(); err != nil && !errors.Is(err, capture.ErrNoNotes) {
		x.say("%v", err)
	}
	if g := d.given; g != nil {
		d.given = nil
		d.keep(g.take, g.path)
	}
}

// unfollowed is what is played where the program has no music to follow: it is kept as free practice.
type unfollowed struct {
	rec    *capture.Recorder
	offset time.Duration
}

// add records messages, from the first key on.
func (u *unfollowed) add(x *hall, messages []capture.Message) {
	for _, m := range messages {
		if u.rec == nil {
			if !strikes(&m) {
				continue
			}
			x.h.asked, u.offset = nil, capture.RoundTick(max(0, m.At-lead))
			rec, err := x.h.record(x.src, u.offset)
			if err != nil {
				x.say("%v", err)
				return
			}
			u.rec = rec
			x.show(screen.Began{})
		}
		m.At = max(0, m.At-u.offset)
		u.rec.Add(m)
	}
}

// keep ends the take under way, if there is one, and keeps it.
func (u *unfollowed) keep(x *hall) {
	if u.rec == nil {
		return
	}
	take := u.rec.Take()
	path, err := u.rec.Close()
	u.rec = nil
	if err == nil {
		err = x.h.journal.keep(x.ctx, take, path, "", practised(take), nil)
	}
	if err != nil && !errors.Is(err, capture.ErrNoNotes) {
		x.say("%v", err)
	}
}
