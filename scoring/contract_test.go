package scoring

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/internal/outside"
	"evenhand/references"
)

// lesson is a take with one of each: B flat major in contrary motion from an octave apart, softly,
// with a wrong note, a note left out, a brushed key, a note struck twice, a stop, a fresh start, a
// slowing down and the left hand a little late.
func lesson(t testing.TB) *stage {
	r := scale(bFlatMajor, references.Major, references.Together)
	r.Motion, r.Start = references.Contrary, references.OctaveStart
	r.Dynamic = references.Each(references.Piano)
	r.Touch = references.Each(references.Legato)
	s := even(written(t, r), 0.4)
	s.each(func(h *hit, n *references.Note) {
		k := n.Onset.Float() * 2
		h.on = 1 + 0.4*k*(1+0.0011*k) + 0.006*float64((int(k)*5)%3)
		h.length, h.velocity = 0.42, 46+int(k)%4
		if n.Hand == references.Left {
			h.on += 0.006
			h.velocity -= 4
		}
	})
	s.of(s.note(references.Left, 10)).key++
	s.drop(s.note(references.Right, 20))
	i := s.note(references.Right, 6)
	s.extra(i, 1, s.of(i).on+0.01, 0.05, 20, align.Slip)
	i = s.note(references.Left, 24)
	s.extra(i, 0, s.of(i).on+0.2, 0.05, 40, align.Repeat)
	s.later(s.of(s.note(references.Left, 17)).on-0.01, 0.64)
	s.later(0, 5)
	for k := range 9 {
		for _, h := range []references.Hand{references.Right, references.Left} {
			e := s.note(h, k)
			s.hits = append(s.hits, hit{
				expected: -1, near: e, key: s.ref.Notes[e].Key(), velocity: 44 + k%3, why: align.Again,
				on: 1 + 0.4*float64(k), length: 0.4,
			})
		}
	}
	s.restarts = []align.Restart{{At: micro(5.99), From: references.Q(4, 1), Fresh: true}}
	return s
}

func TestContract(t *testing.T) {
	r := scale(bFlatMajor, references.Major, references.Together)
	r.Motion, r.Dynamic, r.Touch = references.Contrary, references.Each(references.Piano), references.Each(references.Legato)
	a := lesson(t).against(r, DefaultSettings())
	var line bytes.Buffer
	if err := a.EncodeJSON(&line); err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(line.Bytes(), []byte("\n")); n != 1 || !bytes.HasSuffix(line.Bytes(), []byte("}\n")) {
		t.Errorf("%d lines, want one object on one line", n)
	}
	var page bytes.Buffer
	if err := json.Indent(&page, line.Bytes(), "", " "); err != nil {
		t.Fatal(err)
	}
	golden(t, "contract.json", page.Bytes())

	// The names are public: each must be there under the name it was given, whatever the types say.
	var whole map[string]any
	if err := json.Unmarshal(line.Bytes(), &whole); err != nil {
		t.Fatal(err)
	}
	for _, path := range strings.Fields(`schema version take against settings.level settings.limits settings.calibration
		heard.as_asked heard.what heard.kind heard.tonic heard.form heard.hands heard.motion heard.octaves
		counts.expected counts.played counts.correct counts.wrong counts.missing counts.extra
		notes.verdict notes.expected.index notes.expected.id notes.expected.pass notes.expected.bar notes.expected.beat
		notes.expected.onset notes.expected.key notes.expected.name notes.expected.hand notes.expected.finger
		notes.played.index notes.played.onset notes.played.length notes.played.key notes.played.velocity notes.why
		flow.restarts.at flow.restarts.from_onset flow.restarts.to_onset flow.hesitations.onset flow.hesitations.extra_ms flow.skips
		tempo.bpm tempo.beat tempo.asked tempo.drift_percent tempo.notes_per_second
		evenness.hand evenness.direction evenness.notes evenness.ioi_ms evenness.sd_ms evenness.cv_percent evenness.audible
		evenness.worst.onset evenness.worst.deviation_ms evenness.worst.fingers
		dynamics.asked dynamics.heard dynamics.verdict dynamics.median_velocity dynamics.spread dynamics.balance
		together.notes together.mean_ms together.sd_ms touch.asked touch.heard touch.overlap_percent
		marks.notes marks.time marks.sound marks.overall remarks
		findings.kind findings.hand findings.from.bar findings.from.beat findings.from.onset findings.from.pass findings.to
		findings.from_s findings.to_s findings.measured findings.limit findings.unit findings.source findings.severity findings.text`) {
		if !holds(whole, strings.Split(path, ".")) {
			t.Errorf("no field %s", path)
		}
	}
}

// holds reports whether a value has a field at a path; of a list, any of its values.
func holds(v any, path []string) bool {
	if len(path) == 0 {
		return true
	}
	switch v := v.(type) {
	case map[string]any:
		w, ok := v[path[0]]
		return ok && holds(w, path[1:])
	case []any:
		for _, w := range v {
			if holds(w, path) {
				return true
			}
		}
	}
	return false
}

// TestNullIsNotZero: what was not measured is null and no list is.
func TestNullIsNotZero(t *testing.T) {
	s := right(t)
	s.hits = s.hits[:3]
	a := s.judged()
	var b bytes.Buffer
	if err := a.EncodeJSON(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"drift_percent":null`, `"sd_ms":null`, `"cv_percent":null`, `"audible":null`, `"worst":null`, `"asked":null`,
		`"together":null`, `"balance":null`, `"spread":null`, `"restarts":[]`, `"hesitations":[]`, `"finger":1`,
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in %s", want, b.String())
		}
	}
}

// TestSettingsRoundTrip: settings kept with a take and read again are the same settings.
func TestSettingsRoundTrip(t *testing.T) {
	s := ForLevel(Top)
	s.Calibration = &Calibration{Piano: "upright", Levels: []LevelVelocity{{"pp", 20}, {"ff", 90}}, LegatoGapMS: 30}
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var back Settings
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	one, two := lesson(t).against(*lesson(t).ref.Request, s), lesson(t).against(*lesson(t).ref.Request, back)
	var x, y bytes.Buffer
	if one.EncodeJSON(&x) != nil || two.EncodeJSON(&y) != nil || x.String() != y.String() {
		t.Error("settings read again give another assessment")
	}
}

// TestCalibratedLegato: a gap that this piano gives to legato is legato.
func TestCalibratedLegato(t *testing.T) {
	s := right(t)
	for k := range s.hits {
		s.hits[k].length -= 0.03
	}
	set := DefaultSettings()
	if h := s.against(*s.ref.Request, set).Touch.Heard; h != "in between" {
		t.Errorf("30 ms: %s", h)
	}
	set.Calibration = &Calibration{LegatoGapMS: 35}
	if h := s.against(*s.ref.Request, set).Touch.Heard; h != "legato" {
		t.Errorf("30 ms on a piano of 35: %s", h)
	}
}

// fields are the names of the JSON fields of a type and of those in it, but for the settings, whose
// numbers are explained where they are declared.
func fields(t reflect.Type, into map[string]bool) {
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice:
		fields(t.Elem(), into)
	case reflect.Struct:
		for f := range t.Fields() {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if name == "" {
				continue
			}
			into[name] = true
			if f.Type != reflect.TypeFor[Settings]() {
				fields(f.Type, into)
			}
		}
	}
}

// TestEveryFieldIsExplained: the contract is public, and whoever reads it needs each of its words.
func TestEveryFieldIsExplained(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(outside.Root(), "docs", "json.md"))
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	fields(reflect.TypeFor[Assessment](), names)
	for name := range names {
		if !bytes.Contains(text, []byte("`"+name+"`")) {
			t.Errorf("%q is in the JSON and not in docs/json.md", name)
		}
	}
}
