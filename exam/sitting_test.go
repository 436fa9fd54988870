package exam_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"evenhand/exam"
	"evenhand/references"
	"evenhand/scoring"
)

// threeSections has two requests; a piece, music to be read, three questions; two ear tests and a piece
// that nobody has named.
func threeSections() exam.Event {
	asked := func(words string) exam.Part {
		r, err := references.Parse(words)
		if err != nil {
			panic(err)
		}
		return exam.Part{Kind: exam.Request, Words: r.Spoken(), Request: &exam.Asked{Request: r}}
	}
	in := func(section, number int, p exam.Part) exam.Part {
		p.Section, p.Number = section, number
		return p
	}
	piece := &exam.Score{Title: "The Ferryman", Path: "ferryman.musicxml"}
	paper := &exam.Paper{
		Schema: exam.Schema, List: "Any", Level: 3,
		Sections: []exam.Section{{Title: "Scales", Weight: 30}, {Title: "Music", Weight: 50}, {Title: "Listening", Weight: 20}},
		Parts: []exam.Part{
			in(0, 1, asked("D major scale, hands together, forte")),
			in(0, 2, asked("G minor arpeggio, right hand, piano")),
			in(1, 1, exam.Part{Kind: exam.Piece, Score: piece}),
			in(1, 2, exam.Part{Kind: exam.SightReading, Reading: &exam.Fresh{Level: 3, Seed: 1, Look: 30}}),
			in(1, 3, exam.Part{Kind: exam.Questions, Score: piece, Questions: &exam.QuestionsAsk{Level: 3, Seed: 2, Number: 3}}),
			in(2, 1, exam.Part{Kind: exam.Ear, Ear: &exam.EarItem{Kind: "interval", Level: 3, Seed: 3}}),
			in(2, 2, exam.Part{Kind: exam.Ear, Ear: &exam.EarItem{Kind: "echo", Level: 3, Seed: 4}}),
			in(2, 3, exam.Part{Kind: exam.Piece}),
		},
	}
	return exam.Event{Kind: exam.Opened, Open: &exam.Start{Paper: paper, Steps: []int{1, 1, 1, 1, 3, 1, 1, 0}}}
}

var morning = time.Date(2026, 9, 7, 9, 0, 0, 0, time.UTC)

// course sends events to a sitting, ten seconds apart.
type course struct {
	t     *testing.T
	s     exam.Sitting
	now   time.Time
	kept  [][]byte
	wants []exam.Effect
}

func newCourse(t *testing.T) *course {
	c := &course{t: t, now: morning}
	c.does(threeSections())
	return c
}

func (c *course) does(events ...exam.Event) *course {
	c.t.Helper()
	for _, e := range events {
		if err := c.try(e); err != nil {
			c.t.Fatal(err)
		}
	}
	return c
}

func (c *course) try(e exam.Event) error {
	e.Schema, e.At = exam.EventSchema, c.now
	wants, err := c.s.Apply(e)
	if err != nil {
		return err
	}
	c.wants, c.now = wants, c.now.Add(10*time.Second)
	text, err := e.Encode()
	if err != nil {
		c.t.Fatal(err)
	}
	c.kept = append(c.kept, text)
	return nil
}

func (c *course) is(at, step int, p exam.Phase) {
	c.t.Helper()
	if c.s.At != at || c.s.Step != step || c.s.Phase != p {
		c.t.Errorf("at part %d step %d, %s; want %d %d %s", c.s.At, c.s.Step, c.s.Phase, at, step, p)
	}
}

func heard(asAsked bool) exam.Event {
	return exam.Event{Kind: exam.WasHeard, Heard: &exam.Heard{Take: "ab", Assessment: &scoring.Assessment{Heard: scoring.Heard{AsAsked: asAsked}}}}
}

func answered(share float64) exam.Event {
	return exam.Event{Kind: exam.WasAnswered, Reply: &exam.Reply{Given: "a", Wanted: "a", Share: share}}
}

var ready = exam.Event{Kind: exam.Proceeded}

// The whole of an exam in its order.
func TestSittingFromBeginningToEnd(t *testing.T) {
	c := newCourse(t)
	c.is(0, 0, exam.Before)
	c.does(ready).is(0, 0, exam.Playing)
	c.does(heard(true)).is(1, 0, exam.Playing)
	c.does(heard(true)).is(2, 0, exam.Before)
	c.does(ready, heard(true)).is(3, 0, exam.Looking)
	c.does(ready).is(3, 0, exam.Playing)
	c.does(heard(true)).is(4, 0, exam.Answering)
	c.does(answered(1), answered(0)).is(4, 2, exam.Answering)
	c.does(answered(1)).is(5, 0, exam.Before)
	c.does(ready, answered(1)).is(6, 0, exam.Answering)
	c.does(answered(0.5)).is(7, 0, exam.Alone)
	c.does(ready).is(8, 0, exam.Ended)
	c.does(exam.Event{Kind: exam.Signed, Words: "M. Arden"})
	if c.s.Signed != "M. Arden" || len(c.s.Parts[4].Tries) != 3 {
		t.Errorf("%+v", c.s)
	}
	for i, want := range []time.Duration{10, 10, 10, 20, 30, 10, 10, 10} {
		if got := c.s.Parts[i].Time; got != want*time.Second {
			t.Errorf("part %d took %v, want %d s", i, got, want)
		}
	}
}

// Where something else was played it is offered once to ask again, and the second try counts.
func TestSittingOffersOnceToAskAgain(t *testing.T) {
	again := exam.Event{Kind: exam.Repeated}
	c := newCourse(t).does(ready, heard(false))
	c.is(0, 0, exam.Offered)
	c.does(again).is(0, 0, exam.Playing)
	c.does(heard(false)).is(1, 0, exam.Playing)
	if p := c.s.Parts[0]; !p.Offered || p.Repeats != 0 || len(p.Tries) != 2 || p.Last(0) != &c.s.Parts[0].Tries[1] {
		t.Errorf("%+v", p)
	}
	c = newCourse(t).does(ready, heard(false), ready)
	c.is(1, 0, exam.Playing)
	// A piece that went quite wrong is a piece that went wrong.
	c = newCourse(t).does(ready, heard(true), heard(true), ready, heard(false))
	c.is(3, 0, exam.Looking)
}

func TestSittingIsTheTeachers(t *testing.T) {
	c := newCourse(t).does(ready, exam.Event{Kind: exam.Restarted})
	c.is(0, 0, exam.Playing)
	if c.s.Parts[0].Restarts != 1 || c.wants[0].Do != exam.Hush || c.wants[1].Do != exam.Listen {
		t.Errorf("after a restart %+v, %v", c.s.Parts[0], c.wants)
	}
	c.does(heard(true), heard(true), ready, exam.Event{Kind: exam.Repeated, Part: 1})
	c.is(1, 0, exam.Playing)
	if err := c.try(exam.Event{Kind: exam.LeftOut}); err == nil {
		t.Error("a section was left out from within another")
	}
	c.does(heard(true)).is(2, 0, exam.Playing)
	if c.s.Parts[1].Repeats != 1 || len(c.s.Parts[1].Tries) != 2 {
		t.Errorf("%+v", c.s.Parts[1])
	}
	c.does(exam.Event{Kind: exam.Skipped}).is(3, 0, exam.Looking)
	c.does(exam.Event{Kind: exam.LeftOut}).is(5, 0, exam.Before)
	for i, want := range []bool{false, false, true, true, true, false} {
		if c.s.Parts[i].Skipped != want {
			t.Errorf("part %d skipped %v", i, c.s.Parts[i].Skipped)
		}
	}
	c.does(
		exam.Event{Kind: exam.Remarked, Part: 1, Words: "lovely"}, exam.Event{Kind: exam.Marked, Part: 2, Mark: new(80)},
		exam.Event{Kind: exam.Marked, Part: 2},
	)
	if c.s.Parts[1].Remarks[0] != "lovely" || c.s.Parts[2].Mark != nil {
		t.Errorf("%+v", c.s.Parts)
	}
	c.is(5, 0, exam.Before)
}

// A pause takes no time of a part, nor does the time the program was stopped.
func TestSittingPauses(t *testing.T) {
	c := newCourse(t).does(ready, exam.Event{Kind: exam.Paused})
	if len(c.wants) != 1 || c.wants[0].Do != exam.Hush {
		t.Errorf("a pause wants %v", c.wants)
	}
	if err := c.try(heard(true)); err == nil || !strings.Contains(err.Error(), "there is a pause") {
		t.Errorf("heard in a pause: %v", err)
	}
	c.now = c.now.Add(time.Hour)
	c.does(exam.Event{Kind: exam.Remarked, Words: "tea"}, exam.Event{Kind: exam.Resumed})
	if c.wants[len(c.wants)-1].Do != exam.Listen {
		t.Errorf("after a pause %v", c.wants)
	}
	c.now = c.now.Add(24 * time.Hour)
	c.does(exam.Event{Kind: exam.Resumed}, heard(true))
	if got := c.s.Parts[0].Time; got != 20*time.Second {
		t.Errorf("it took %v", got)
	}
}

func TestSittingRefuses(t *testing.T) {
	for name, tt := range map[string]struct {
		c    *course
		e    exam.Event
		says string
	}{
		"no beginning":        {&course{t: t}, ready, "has not begun"},
		"no paper":            {&course{t: t}, exam.Event{Kind: exam.Opened, Open: &exam.Start{}}, "no paper"},
		"twice":               {newCourse(t), threeSections(), `nothing is known of the event "opened"`},
		"an unknown event":    {newCourse(t), exam.Event{Kind: "sung"}, `"sung"`},
		"no part":             {newCourse(t), exam.Event{Kind: exam.Marked, Part: 8}, "there is no part 9"},
		"heard before":        {newCourse(t), heard(true), "the exam is before"},
		"nothing heard":       {newCourse(t).does(ready), exam.Event{Kind: exam.WasHeard}, "nothing was heard"},
		"an answer too early": {newCourse(t).does(ready), answered(1), "the exam is playing"},
		"a mark too high":     {newCourse(t), exam.Event{Kind: exam.Marked, Mark: new(101)}, "0 to 100"},
		"no words":            {newCourse(t), exam.Event{Kind: exam.Remarked}, "nothing is said"},
		"signed too early":    {newCourse(t), exam.Event{Kind: exam.Signed, Words: "A"}, "the exam is before"},
		"again too early":     {newCourse(t), exam.Event{Kind: exam.Repeated}, "still to come"},
	} {
		before := tt.c.s
		err := tt.c.try(tt.e)
		if err == nil || !strings.Contains(err.Error(), tt.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v; want one line with %q", name, err, tt.says)
		}
		if diff := cmp.Diff(before, tt.c.s, same...); diff != "" {
			t.Errorf("%s changed the sitting:\n%s", name, diff)
		}
	}
}

// same compares sittings by all there is in them. A paper comes back from JSON as it went in, which is
// tested elsewhere.
var same = []cmp.Option{cmpopts.IgnoreTypes(&exam.Paper{})}

// Whatever happens in an exam, and wherever the program is killed: what was kept makes the same state,
// and the exam goes on from there to the same end.
func TestSittingIsItsEvents(t *testing.T) {
	kinds := []exam.EventKind{
		exam.Proceeded, exam.Proceeded, exam.WasHeard, exam.WasHeard, exam.WasAnswered, exam.WasAnswered, exam.Restarted, exam.Repeated,
		exam.Skipped, exam.LeftOut, exam.Remarked, exam.Marked, exam.Paused, exam.Resumed, exam.Resumed, exam.Signed,
	}
	rapid.Check(t, func(rt *rapid.T) {
		c := newCourse(t)
		killed := rapid.IntRange(1, 40).Draw(rt, "killed after")
		var resumed *exam.Sitting
		for range rapid.IntRange(0, 60).Draw(rt, "events") {
			if len(c.kept) == killed && resumed == nil {
				resumed = c.replayed(rt)
			}
			c.now = c.now.Add(time.Duration(rapid.Int64Range(-1e6, 1e9).Draw(rt, "later")) * time.Microsecond)
			if c.try(anEvent(rt, rapid.SampledFrom(kinds).Draw(rt, "kind"))) != nil || resumed == nil {
				continue
			}
			e, err := exam.DecodeEvent(c.kept[len(c.kept)-1])
			if err != nil {
				rt.Fatal(err)
			}
			if _, err := resumed.Apply(e); err != nil {
				rt.Fatal(err)
			}
		}
		if resumed == nil {
			resumed = c.replayed(rt)
		}
		if diff := cmp.Diff(c.s, *resumed, same...); diff != "" {
			rt.Fatalf("resumed after %d events (-was +is):\n%s", killed, diff)
		}
	})
}

func anEvent(rt *rapid.T, k exam.EventKind) exam.Event {
	e := exam.Event{Kind: k, Part: rapid.IntRange(-1, 8).Draw(rt, "part")}
	switch k {
	case exam.WasHeard:
		e.Heard = heard(rapid.Bool().Draw(rt, "as asked")).Heard
	case exam.WasAnswered:
		e.Reply = answered(rapid.Float64Range(0, 1).Draw(rt, "share")).Reply
	case exam.Marked:
		e.Mark = new(rapid.IntRange(-1, 101).Draw(rt, "mark"))
	case exam.Remarked, exam.Signed:
		e.Words = rapid.String().Draw(rt, "words")
	}
	return e
}

// replayed is the state that what was kept makes, which has to be that of now.
func (c *course) replayed(rt *rapid.T) *exam.Sitting {
	s, err := exam.Replay(c.kept)
	if err != nil {
		rt.Fatal(err)
	}
	if diff := cmp.Diff(c.s, *s, same...); diff != "" {
		rt.Fatalf("the state is not that of its events (-is +replayed):\n%s", diff)
	}
	return s
}

func TestReplayTellsWhatIsWrong(t *testing.T) {
	c := newCourse(t)
	for name, tt := range map[string]struct {
		events [][]byte
		says   string
	}{
		"nothing": {nil, "no beginning"},
		"no JSON": {[][]byte{[]byte("{")}, "event 0"},
		"newer":   {[][]byte{c.kept[0], []byte(`{"schema":2}`)}, "event 1: an event of the exam is of schema 2"},
		"order":   {[][]byte{c.kept[0], c.kept[0]}, "event 1"},
	} {
		if _, err := exam.Replay(tt.events); err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
