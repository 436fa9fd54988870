package serve

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"
)

// The events of the music desk are server-sent events (HTML Living Standard, 9.2), each with JSON:
//
//	waiting  nobody plays
//	take     a take begins, or its reading changed: title, and the score as MusicXML, empty where there is none
//	bars     the bars that changed
//	over     the take is over; its number in the journal, 0 while it is not there
//
// A reader who comes later is told all that is so by then. One who is slow is told what is so when there
// is time, and nothing of what was between.

// listenersMost is how many may follow at once, and beat how often a silent line is tried. Chosen by us.
const (
	listenersMost = 64
	beat          = 15 * time.Second
	sendWithin    = 10 * time.Second
)

// event is one event as it is sent.
func event(name string, data any) ([]byte, error) {
	b, err := json.Marshal(data)
	return fmt.Appendf(nil, "event: %s\ndata: %s\n\n", name, b), err
}

// teller turns views into events for one reader.
type teller struct {
	told view
	any  bool // something was told
}

// news are the events that lead from what was told to a view.
func (t *teller) news(v view) ([]byte, error) {
	var out []byte
	var err error
	add := func(name string, data any) {
		b, e := event(name, data)
		out, err = append(out, b...), e
	}
	anew := v.take != t.told.take || v.reading != t.told.reading
	switch {
	case v.take == 0 && !t.any:
		add("waiting", struct{}{})
	case v.take > 0 && anew:
		add("take", struct {
			Title string `json:"title"`
			Score string `json:"score"`
		}{v.title, v.score})
		t.told = view{}
	}
	if changed := changedBars(t.told.bars, v.bars); len(changed) > 0 && err == nil {
		add("bars", changed)
	}
	if v.over && (!t.told.over || v.kept != t.told.kept) && err == nil {
		add("over", struct {
			Take int64 `json:"take"`
		}{v.kept})
	}
	t.told, t.any = v, true
	return out, err
}

// changedBars are the bars of now that are not as before.
func changedBars(before, now []Bar) []Bar {
	var out []Bar
	for i, b := range now {
		if i >= len(before) && (b.State != ToCome || len(b.Marks) > 0) || i < len(before) && !sameBar(before[i], b) {
			out = append(out, b)
		}
	}
	return out
}

func sameBar(a, b Bar) bool { return a.State == b.State && slices.Equal(a.Marks, b.Marks) }

// events sends the music desk to one reader until either goes.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	if !s.watch.join(listenersMost) {
		s.fail(w, http.StatusServiceUnavailable, "Too many are following already: close the page elsewhere.")
		return
	}
	defer s.watch.leave()
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	line := sending{http.NewResponseController(w), w}
	var t teller
	for ctx := r.Context(); ; {
		v, changed := s.watch.look()
		b, err := t.news(v)
		if err != nil || line.send(b) != nil || !waitFor(ctx, s.ending, changed, line) {
			return
		}
	}
}

// sending is a line to a reader.
type sending struct {
	control *http.ResponseController
	w       http.ResponseWriter
}

// send sends at once, or fails where the reader does not take it.
func (l sending) send(b []byte) error {
	if err := l.control.SetWriteDeadline(time.Now().Add(sendWithin)); err != nil {
		return err
	}
	if _, err := l.w.Write(b); err != nil {
		return err
	}
	return l.control.Flush()
}

// waitFor waits for a change, trying the line now and then, and reports whether to go on.
func waitFor(ctx context.Context, ending, changed <-chan struct{}, line sending) bool {
	tick := time.NewTicker(beat)
	defer tick.Stop()
	for {
		select {
		case <-changed:
			return true
		case <-ctx.Done():
			return false
		case <-ending:
			return false
		case <-tick.C:
			if line.send([]byte(":\n\n")) != nil {
				return false
			}
		}
	}
}
