package serve

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/pupil"
)

// reader follows the music desk as a browser does.
type reader struct {
	t      testing.TB
	events chan told
	stop   func()
	bars   []Bar // as they were told last
}

// told is one event.
type told struct {
	name string
	data string
}

func follow(t testing.TB, address string) *reader {
	t.Helper()
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, address+"/desk/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	if answer.StatusCode != http.StatusOK || answer.Header.Get("Content-Type") != "text/event-stream" {
		t.Fatalf("%s, %s", answer.Status, answer.Header.Get("Content-Type"))
	}
	r := &reader{t: t, events: make(chan told, 1000), stop: stop}
	t.Cleanup(func() { stop(); answer.Body.Close() })
	go r.read(answer.Body)
	return r
}

func (r *reader) read(body io.Reader) {
	defer close(r.events)
	var e told
	s := bufio.NewScanner(body)
	s.Buffer(nil, 16<<20)
	for s.Scan() {
		name, value, _ := strings.Cut(s.Text(), ": ")
		switch name {
		case "event":
			e.name = value
		case "data":
			e.data = value
		case "":
			if e.name != "" {
				r.events <- e
			}
			e = told{}
		}
	}
}

// next is the next event.
func (r *reader) next() told {
	r.t.Helper()
	select {
	case e, more := <-r.events:
		if !more {
			r.t.Fatal("the line ended")
		}
		return e
	case <-time.After(30 * time.Second):
		r.t.Fatal("nothing is told")
	}
	return told{}
}

// is waits for an event of a name, which is to be the next.
func (r *reader) is(name string) told {
	r.t.Helper()
	e := r.next()
	if e.name != name {
		r.t.Fatalf("%s is told, and not %s: %.300s", e.name, name, e.data)
	}
	return e
}

// page reads until the bars are as wanted.
func (r *reader) page(want string) {
	r.t.Helper()
	for {
		r.heed(r.is("bars"))
		if got := written(r.bars); got == want {
			return
		} else if strings.Count(got, "\n") > strings.Count(want, "\n") {
			r.t.Fatalf("the page is\n%s\nand was never\n%s", got, want)
		}
	}
}

// heed takes in what is told of bars.
func (r *reader) heed(e told) {
	r.t.Helper()
	var changed []Bar
	if err := json.Unmarshal([]byte(e.data), &changed); err != nil {
		r.t.Fatal(err)
	}
	for _, b := range changed {
		for len(r.bars) <= b.At {
			r.bars = append(r.bars, Bar{})
		}
		r.bars[b.At] = b
	}
}

// Two readers, one from the beginning and one who comes in the middle, see the same take: the score, the
// bars with their marks as they are played, and in the end where it is kept; and then the next take.
func TestDeskFollowsATake(t *testing.T) {
	j, dir := newJournal(t), t.TempDir()
	lessons(t, j, 1, "Mia")
	address, _ := running(t, j, func(o *Options) { o.Recordings = dir })
	first := follow(t, address)
	first.is("waiting")

	const asked = "D major scale, right hand"
	started := monday.AddDate(0, 1, 0)
	p := pupil.Pupil{Seed: 2, Exact: true, BPM: 80, Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: 3, By: 1}}}
	r := record(t, dir, asked, started, p)
	r.play(14)
	take := first.is("take")
	for _, want := range []string{`"title":"D major, right hand`, "score-partwise", `id=\"n3\"`} {
		if !strings.Contains(take.data, want) {
			t.Errorf("no %s in %.200s", want, take.data)
		}
	}
	first.page("1 now, ring G♯4 for G4\n")
	r.play(8)
	first.page("1 done, ring G♯4 for G4\n2 now\n")

	second := follow(t, address)
	if again := second.is("take"); again != take {
		t.Error("who comes later is told another take")
	}
	second.page("1 done, ring G♯4 for G4\n2 now\n")
	r.end()
	const last = "1 done, ring G♯4 for G4\n2 done\n3 done\n4 now\n"
	for _, f := range []*reader{first, second} {
		f.page(last)
		f.is("over")
	}
	id, err := j.Keep(t.Context(), "Mia", played(t, asked, started, p))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []*reader{first, second} {
		var over struct{ Take int64 }
		if e := f.is("over"); json.Unmarshal([]byte(e.data), &over) != nil || over.Take != id {
			t.Errorf("it is kept as %s, want %d", e.data, id)
		}
	}
	second.stop() // one goes, the other stays

	piece := record(t, dir, "harbour waltz", started.Add(time.Minute), pupil.Pupil{Seed: 1, Exact: true})
	piece.play(20)
	if e := first.is("take"); !strings.Contains(e.data, "harbour waltz") {
		t.Errorf("%.200s", e.data)
	}
	piece.end()
}

// A piece, whose bars are those of the score, with a wrong note in its place.
func TestDeskFollowsAPiece(t *testing.T) {
	j, dir := newJournal(t), t.TempDir()
	address, _ := running(t, j, func(o *Options) {
		o.Recordings = dir
		o.Find = func(words string) (Asked, error) { return askForScore(t, words), nil }
	})
	f := follow(t, address)
	f.is("waiting")
	ref := askForScore(t, "harbour waltz").Candidates[0]
	wrong := 0
	for i, n := range ref.Notes {
		if n.Bar == "2" {
			wrong = i
			break
		}
	}
	r := record(t, dir, "harbour waltz", monday, pupil.Pupil{Seed: 1, Exact: true, Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: wrong, By: 1}}})
	r.play(len(r.messages))
	if e := f.is("take"); !strings.Contains(e.data, `"title":"Harbour Waltz"`) {
		t.Errorf("%.100s", e.data)
	}
	for last := len(ref.Bars) - 1; len(f.bars) <= last || f.bars[last].State != Now; {
		f.heed(f.is("bars"))
	}
	for _, b := range f.bars {
		if marked := len(b.Marks) > 0; marked != (b.At == ref.Notes[wrong].Measure) {
			t.Errorf("bar %s, time %d: %+v", b.Number, b.Pass, b.Marks)
		}
	}
	r.end()
	f.is("over")
}

// What nobody plays: leftovers of a stopped program, a try whether the folder can be written, a damaged
// file, free practice, and a request that cannot be read.
func TestDeskWithoutMusic(t *testing.T) {
	j, dir := newJournal(t), t.TempDir()
	for name, content := range map[string]string{"a" + capture.GrowingEnding: "evenhand growing take 1\n", "b" + capture.GrowingEnding: "no recording", "c.mid": "x"} {
		if err := os.WriteFile(dir+"/"+name, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	address, _ := running(t, j, func(o *Options) { o.Recordings = dir })
	f := follow(t, address)
	f.is("waiting")
	try, err := capture.Record(dir, capture.Take{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	time.Sleep(2 * lookFor)
	_, _ = try.Close() // no note was played
	for i, facts := range []map[string]string{nil, {factRequest: `nothing "anybody" <knows>`}} {
		rec, err := capture.Record(dir, capture.Take{Started: monday.Add(time.Duration(i) * time.Minute), Facts: facts}, nil)
		if err != nil {
			t.Fatal(err)
		}
		want := "Free practice"
		if facts != nil {
			want = `nothing \"anybody\" \u003cknows\u003e`
		}
		if e := f.is("take"); !strings.Contains(e.data, want) || !strings.Contains(e.data, `"score":""`) {
			t.Errorf("%s", e.data)
		}
		rec.Add(capture.Message{Status: 0x90, Data1: 60, Data2: 64})
		if _, err := rec.Close(); err != nil {
			t.Fatal(err)
		}
		f.is("over")
	}
}

// A reader too many is told so; when one goes there is room again.
func TestDeskIsFull(t *testing.T) {
	address, s := running(t, newJournal(t), nil)
	var all []*reader
	for range listenersMost {
		all = append(all, follow(t, address))
	}
	answer, err := http.Get(address + "/desk/events")
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("one too many: %s", answer.Status)
	}
	all[0].stop()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		s.watch.mu.Lock()
		n := s.watch.readers
		s.watch.mu.Unlock()
		if n < listenersMost {
			break
		}
		if time.Now().After(end) {
			t.Fatal("who went is still counted")
		}
	}
	follow(t, address).is("waiting")
}

// One who sends a request bit by bit, or nothing at all, is let go; the others are served meanwhile.
func TestSlowReadersAreLetGo(t *testing.T) {
	address, _ := running(t, newJournal(t), nil)
	c, err := net.Dial("tcp", strings.TrimPrefix(address, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if _, err := io.WriteString(c, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: "); err != nil {
		t.Fatal(err)
	}
	begin := time.Now()
	if answer, err := http.Get(address + "/"); err != nil || answer.StatusCode != http.StatusOK {
		t.Error(err)
	}
	_ = c.SetReadDeadline(begin.Add(4 * headerWithin)) // only of a closed connection
	_, err = io.ReadAll(c)
	if err != nil || time.Since(begin) < headerWithin {
		t.Errorf("let go after %v: %v", time.Since(begin), err)
	}
}
