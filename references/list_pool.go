package references

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// The words of a group of requests, and what they are in a request's own.
var (
	askKinds   = []string{"scale", "arpeggio", "broken chord", "five-finger pattern", "triads", "cadence chords"}
	askHands   = []string{"together", "right", "left", "separately", "hands together", "right hand", "left hand", "hands separately"}
	askMotions = []string{"similar", "contrary", "similar motion", "contrary motion"}
	askTouches = []string{"legato", "staccato"}
)

// maxGroup bounds the requests of one group, and maxGroups the groups of a part.
const (
	maxGroup  = 500
	maxGroups = 40
)

// pool reads all that may be asked in a part, group by group.
func (t *table) pool(p *ListPart) {
	p.Loudness = t.loudness()
	groups := t.tables("ask", "what may be asked")
	if len(groups) == 0 {
		t.fault(t.path, "nothing may be asked in this part: write it under headings [[part.ask]]")
		return
	}
	if len(groups) > maxGroups {
		t.fault(t.path, "%d groups in one part: at most %d", len(groups), maxGroups)
		return
	}
	before := len(t.faults)
	for _, g := range groups {
		for _, r := range g.requests() {
			if !slices.ContainsFunc(p.Pool, func(o ListRequest) bool { return o.Request == r.Request }) {
				p.Pool = append(p.Pool, r)
			}
		}
	}
	if n := differing(p.Pool); len(t.faults) == before && n < p.Number {
		t.fault(t.at("number"), "%d requests are asked and only %d differ: add keys, or lower the number", p.Number, n)
	}
}

// differing is how many requests there are of which no two have the same notes.
func differing(pool []ListRequest) int {
	var kept []Request
	for i := range pool {
		if !slices.ContainsFunc(kept, pool[i].Request.Alike) {
			kept = append(kept, pool[i].Request)
		}
	}
	return len(kept)
}

// Alike reports whether two requests have the same notes, wherever they start and however they are to
// sound. A minor with no form named is like any form of it.
func (r Request) Alike(o Request) bool {
	a, b := r.notesAsked(), o.notesAsked()
	a.Start, b.Start = AnyStart, AnyStart
	if a.Form.minor() && b.Form.minor() && (a.Form == Minor || b.Form == Minor) {
		a.Form, b.Form = Minor, Minor
	}
	return a == b
}

// loudness is what is dealt out among the requests: soft and loud where nothing is said.
func (t *table) loudness() []Dynamic {
	var words []string
	for d := Pianississimo; d <= Fortississimo; d++ {
		words = append(words, d.Words(), d.String())
	}
	var out []Dynamic
	for _, w := range t.some("loudness", words, []string{"piano", "forte"}) {
		out = append(out, Pianississimo+Dynamic(slices.Index(words, w)/2))
	}
	return out
}

// requests are all requests of one group: every key with every other choice.
func (t *table) requests() []ListRequest {
	what := t.one("what", askKinds, "scale")
	keys := t.texts("keys")
	if len(keys) == 0 {
		t.fault(t.at("keys"), "%s needs keys, as in keys = [\"D major\", \"B harmonic minor\"]", t.name)
	}
	ways := t.ways(what)
	least := t.least()
	t.done()
	if n := len(keys) * len(ways); n > maxGroup {
		t.fault(t.path, "%d requests in one group: at most %d", n, maxGroup)
		return nil
	}
	var out []ListRequest
	where := map[string]string{} // of each fault
	for i, key := range keys {
		if key == "" {
			continue // it is no text, as is told already
		}
		path := fmt.Sprintf("%s[%d]", t.at("keys"), i)
		for _, way := range ways {
			r, err := Parse(key + " " + what + ", " + way)
			if err == nil {
				err = plainly(r)
			}
			switch {
			case err == nil:
				out = append(out, ListRequest{r, least})
			case where[err.Error()] == "":
				where[err.Error()] = path
			case where[err.Error()] != path:
				where[err.Error()] = t.path // it is not the key's
			}
		}
	}
	for _, text := range slices.Sorted(maps.Keys(where)) {
		t.fault(where[text], "%s", text)
	}
	return out
}

// plainly reports what does not belong among keys.
func plainly(r Request) error {
	if r.Dynamic != (PerHand[Dynamic]{}) || r.Shape != NoShape {
		return fmt.Errorf("the loudness is not said with the key: say it once, as in loudness = [\"piano\", \"forte\"]")
	}
	if r.BPM != 0 || r.NotesPerBeat != 0 {
		return fmt.Errorf("the tempo is not said with the key: say it as in tempo = \"crotchet = 60\"")
	}
	return nil
}

// ways are all choices of hands, motion, touch and what else a group has, in words.
func (t *table) ways(what string) []string {
	var hands []string
	for _, h := range t.some("hands", askHands, []string{"together"}) {
		switch h {
		case "together", "hands together":
			hands = append(hands, "hands together")
		case "separately", "hands separately":
			hands = append(hands, "right hand", "left hand")
		default:
			hands = append(hands, strings.TrimSuffix(h, " hand")+" hand")
		}
	}
	motions := t.some("motion", askMotions, []string{""})
	touches := t.some("touch", askTouches, []string{""})
	more := t.texts("more")
	if len(more) == 0 {
		more = []string{""}
	}
	octaves := ""
	if what != "five-finger pattern" && what != "cadence chords" || t.has("octaves") {
		octaves = fmt.Sprintf("%d octaves", t.whole("octaves", 1, maxOctaves, 2))
	} else {
		t.value("octaves")
	}
	var out []string
	for _, h := range hands {
		for _, m := range motions {
			for _, c := range touches {
				for _, x := range more {
					if m != "" {
						m = strings.TrimSuffix(m, " motion") + " motion"
					}
					out = append(out, strings.Join([]string{h, m, octaves, c, x}, ", "))
				}
			}
		}
	}
	return out
}

// least is the least speed of a group.
func (t *table) least() Least {
	words, per := t.text("tempo"), t.whole("notes_per_beat", 1, maxNotesPerBeat, 2)
	if words == "" {
		if t.has("notes_per_beat") && !t.has("tempo") {
			t.fault(t.at("notes_per_beat"), "notes to the beat tell no speed alone: add a tempo, as in tempo = \"crotchet = 60\"")
		}
		return Least{}
	}
	r, err := Parse("C major, " + words)
	if err == nil && r.BPM == 0 {
		err = fmt.Errorf("%q is no tempo: say it as in tempo = \"crotchet = 60\"", words)
	}
	if err != nil {
		t.fault(t.at("tempo"), "%s", err)
		return Least{}
	}
	beat := r.BeatLength
	if beat == (Quarters{}) {
		beat = Q(1, 1)
	}
	return Least{Tempo{r.BPM, beat}, per}
}

// String is the speed in words, "" for none: "crotchet = 60, two notes to the beat".
func (l Least) String() string {
	if l.Tempo.BPM == 0 {
		return ""
	}
	r := Request{BPM: l.Tempo.BPM, BeatLength: l.Tempo.Beat, NotesPerBeat: l.NotesPerBeat}
	return strings.Replace(r.spokenTempo(), " equals ", " = ", 1)
}
