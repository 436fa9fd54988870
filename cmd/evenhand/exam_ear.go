package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"evenhand/capture"
	"evenhand/cmd/evenhand/screen"
	"evenhand/exam"
	"evenhand/exam/ear"
)

// sounder makes the piano sound.
type sounder interface {
	play(ctx context.Context, take *capture.Take, passing func(capture.Message)) error
}

// Times of an ear test. Chosen by us.
const (
	earPause = time.Second             // before each hearing
	earEcho  = 1500 * time.Millisecond // in which taps may still come
)

// hearingEar is an ear test while it goes on.
type hearingEar struct {
	x      *hall
	item   *ear.Item
	at     int // index of the hearing
	again  int // times it may still be heard; below 0 as often as wished
	files  []string
	cancel context.CancelFunc

	sounds  bool          // something is being sounded
	started time.Duration // the hearing, on the clock of the piano
	tapped  []ear.Tap
}

// hearingOver tells that a hearing has ended, or why it could not be sounded.
type hearingOver struct {
	of  *hearingEar
	at  int
	err error
}

func newHearingEar(x *hall, item *ear.Item) *hearingEar {
	return &hearingEar{x: x, item: item, again: item.Again, cancel: func() {}}
}

// now is the hearing at hand, nil after the last.
func (h *hearingEar) now() *ear.Hearing {
	if h.at >= len(h.item.Hearings) {
		return nil
	}
	return &h.item.Hearings[h.at]
}

// taps reports whether taps are waited for.
func (h *hearingEar) taps() bool { return h.now() != nil && h.now().Taps }

func (h *hearingEar) tap(at time.Duration, velocity uint8) {
	if len(h.files) > 0 && len(h.tapped) == 0 {
		// Nobody knows when the file was begun: the first tap is taken for the first beat.
		h.started = at - h.now().Start
	}
	h.tapped = append(h.tapped, ear.Tap{At: at - h.started, Velocity: velocity})
}

// backWithin is how soon a note comes back from a piano that sends on what it is sent. Chosen by us.
const backWithin = 150 * time.Millisecond

// comesBack reports whether a key that was struck is one of those sounded, sent back by the piano.
func (h *hearingEar) comesBack(m capture.Message) bool {
	at := m.At - h.started
	return h.sounds && slices.ContainsFunc(h.now().Sounds, func(s ear.Sound) bool {
		return s.Key == m.Data1 && s.Velocity == m.Data2 && at >= s.On && at-s.On < backWithin
	})
}

// start sounds the hearing at hand. Without a piano that sounds, it is written as files, and what is to be
// done with it is done at once.
func (h *hearingEar) start() {
	x, now := h.x, h.now()
	if x.sounder == nil {
		h.write()
		return
	}
	ctx, cancel := context.WithCancel(x.ctx)
	h.cancel, h.sounds = cancel, true
	h.started, h.tapped = x.src.now()+earPause, nil
	take := now.Take()
	echo := time.Duration(0)
	if now.Taps {
		echo = earEcho
	}
	at := h.at
	go func() {
		wait(ctx, time.Now().Add(earPause))
		err := x.sounder.play(ctx, take, nil)
		if err == nil {
			wait(ctx, time.Now().Add(echo))
		}
		if ctx.Err() == nil {
			x.sounded <- hearingOver{h, at, err}
		}
	}()
}

// write writes the ear test as files to be played elsewhere.
func (h *hearingEar) write() {
	x := h.x
	name := filepath.Join(x.h.keep, fmt.Sprintf("ear-%d-%s-%d", h.item.Level, h.item.Kind, h.item.Seed))
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{{name + ".wav", h.item.WriteWAV}, {name + ".mid", h.item.WriteMIDI}} {
		if err := writeWhole(f.name, f.write); err != nil {
			x.say("the ear test cannot be written as a file: %v; s goes on without it", err)
			return
		}
		h.files = append(h.files, f.name)
	}
	h.at = len(h.item.Hearings) - 1
	if h.now().Plays {
		h.at++
		x.echo(h.item)
	}
}

// writeWhole writes a file, in place of one of its name.
func writeWhole(path string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o600)
}

// stop ends what is sounded.
func (h *hearingEar) stop() { h.cancel() }

// heardOut goes on after a hearing.
func (x *hall) heardOut(s hearingOver) {
	h := x.hearing
	if h == nil || h != s.of || h.at != s.at {
		return
	}
	h.sounds = false
	switch {
	case s.err != nil:
		x.say("%v; o sounds it once more, s goes on without it", s.err)
	case h.now().Taps:
		x.tapped()
		return
	case h.now().Plays:
		h.at++
		x.echo(h.item)
	default:
		if h.at++; h.now() != nil {
			h.start()
		}
	}
	x.stand()
}

// tapped judges the taps of the hearing.
func (x *hall) tapped() {
	h := x.hearing
	h.cancel()
	v := h.item.JudgeTaps(h.tapped, slices.ContainsFunc(h.tapped, func(t ear.Tap) bool { return t.Velocity > 0 }))
	if v.Mark == nil {
		h.sounds = false
		x.say("%s o sounds it once more, s goes on", v.Reason)
		x.stand()
		return
	}
	given := counted(len(h.tapped), "tap", "taps")
	x.happen(exam.Event{Kind: exam.WasAnswered, Part: x.sitting.At, Reply: earReply(h.item, given, v.Verdict)})
}

// echo listens to what is played back.
func (x *hall) echo(item *ear.Item) {
	x.attend(&examDesk{x: x, asked: asScore("a phrase to be played back", item.Melody), echo: item})
}

// earReply is what a sitting is told of an ear test.
func earReply(item *ear.Item, given string, v ear.Verdict) *exam.Reply {
	r := &exam.Reply{Asked: item.Ask, Given: given, Wanted: item.Answer}
	if v.Mark != nil {
		r.Share = float64(*v.Mark) / 100
	}
	if v.Reason != "" {
		r.Said = []string{v.Reason}
	}
	for _, l := range v.Losses {
		if !strings.Contains(v.Reason, l.Text) {
			r.Said = append(r.Said, l.Text)
		}
	}
	return r
}

// rehear sounds an ear test again, as often as it may be heard.
func (x *hall) rehear() {
	h := x.hearing
	switch {
	case h == nil:
		x.say("nothing is being heard")
		return
	case h.again == 0 && !h.item.Hearings[len(h.item.Hearings)-1].Taps:
		x.say("it is heard no more; the teacher can ask for it again: a")
		return
	case x.sounder == nil:
		x.say("play the file once more")
		return
	}
	h.again--
	h.cancel()
	x.lesson = nil
	h.at = 0
	if h.item.Hearings[len(h.item.Hearings)-1].Taps {
		h.at = len(h.item.Hearings) - 1
	}
	h.start()
	x.stand()
}

// stand says on the page what is heard.
func (h *hearingEar) stand(st *screen.Standing) {
	st.Sounds, st.Taps = h.sounds, h.taps()
	if now := h.now(); now != nil && now.Say != "" && len(h.files) == 0 {
		st.More = append(st.More, now.Say)
	}
	if len(h.files) > 0 {
		st.More = append(st.More, "The piano cannot be made to sound: play one of these files.")
		for _, f := range h.files {
			st.More = append(st.More, plain(f))
		}
		if h.taps() {
			st.More = append(st.More, "Tap along with its last hearing; e ends it.")
		}
	}
	if h.x.lesson != nil {
		st.More = append(st.More, "Play it back.")
	}
}
