package report

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"
	"time"

	"evenhand/references"
	"evenhand/scoring"
)

// Take is what there is to show of one take.
type Take struct {
	Reference  *references.Reference // what the assessment was measured against
	Assessment *scoring.Assessment   // as the machine made it
	Amended    scoring.Amendment     // what the teacher struck out or left out
	Asked      string                // as it is called for: the heading
	Pupil      string                // empty where it is not known
	Started    time.Time             // zero where it is not known
	Piano      string                // empty where it is not known
	Words      string                // the teacher's own; empty where there are none
	Mark       *int                  // the teacher's own
}

// takePage is what web/pages/take.html gets.
type takePage struct {
	*Take
	Amendment []string // struck findings, in words
	Marks     scoring.Marks
	Counts    scoring.Counts
	Remarks   []string
	Pencil    []Mark
	Evidence  []Evidence
	Curves    []Figure
	Music     template.HTML // of the script: music, as JSON, gzipped, in base64
	Missing   bool          // there is no engraver
	TooMany   int           // extra notes that have a mark
	GivenUp   int           // notes before a fresh start or going back, which are not marked
}

// Evidence is a finding in words.
type Evidence struct {
	Number       int    // index into the findings
	Text, Detail string // Detail: what was measured, and the limit with its source
	Severity     scoring.Severity
	From         *scoring.Place
	Struck       bool
}

// music is what the script gets: the score, its notes, the keys that were struck, and the marks.
type music struct {
	Score  string      `json:"score"` // MusicXML
	Notes  []musicNote `json:"notes"`
	Struck []musicKey  `json:"struck"`
	Marks  []Mark      `json:"marks"`
}

// musicNote is a note of the reference.
type musicNote struct {
	ID     string  `json:"id"`
	Pass   int     `json:"pass"`
	Onset  float64 `json:"onset"` // quarter notes
	Length float64 `json:"length"`
	Key    int     `json:"key"`
	Says   string  `json:"says"`
}

// musicKey is a key that was struck: seconds, and the note it was for or belongs to, -1 for none.
type musicKey struct {
	On       float64 `json:"on"`
	Length   float64 `json:"length"`
	Key      int     `json:"key"`
	Velocity int     `json:"velocity"`
	Note     int     `json:"note"`
}

// Page is the page about the take, with an engraver where there is one. Its Nav and Links are left to
// fill in. It is an error where the assessment is of another reference.
func (t *Take) Page(with Engraver) (*Page, error) {
	if err := t.fits(); err != nil {
		return nil, err
	}
	amended := t.Assessment.Amend(t.Amended)
	d := &takePage{Take: t, Missing: with.Empty(), Marks: amended.Marks, Counts: amended.Counts, Remarks: amended.Remarks}
	d.Pencil = Marks(t.Reference, t.Assessment, t.Amended)
	for _, m := range d.Pencil {
		if m.Sign == Struck {
			d.TooMany++
		}
	}
	for k := range t.Assessment.Notes {
		if t.Assessment.Notes[k].Why == "restart" {
			d.GivenUp++
		}
	}
	for i := range t.Assessment.Findings {
		d.Evidence = append(d.Evidence, t.evidence(i))
	}
	e, err := engrave(t.Reference)
	if err != nil {
		return nil, err
	}
	if d.Music, err = packed(t.music(e, d.Pencil)); err != nil {
		return nil, err
	}
	if d.Curves, err = Curves(t.Reference, t.Assessment); err != nil {
		return nil, err
	}
	return &Page{Name: "take", Title: t.Asked, Lead: t.lead(), Scripts: []string{"sound.js", "engraving.js", "take.js"}, Data: d, Engraver: with}, nil
}

// WriteTake writes the page about a take as one file that opens anywhere, with the engraver in it
// where it is not empty.
func WriteTake(w io.Writer, t *Take, e Engraver) error {
	p, err := t.Page(e)
	if err != nil {
		return err
	}
	return p.Write(w)
}

// fits checks that the lines of the assessment are about notes of the reference.
func (t *Take) fits() error {
	for k := range t.Assessment.Notes {
		n := &t.Assessment.Notes[k]
		e := n.Expected
		if e != nil && (e.Index < 0 || e.Index >= len(t.Reference.Notes) || (e.Key-t.Reference.Notes[e.Index].Key())%12 != 0) ||
			n.Near != nil && (*n.Near < 0 || *n.Near >= len(t.Reference.Notes)) {
			return errors.New("the marks are of another version of this music: mark the take again")
		}
	}
	return nil
}

// lead says who played, when and on what.
func (t *Take) lead() string {
	var parts []string
	if t.Pupil != "" {
		parts = append(parts, t.Pupil)
	}
	if !t.Started.IsZero() {
		parts = append(parts, t.Started.Format("Monday 2 January 2006, 15:04"))
	}
	if t.Piano != "" {
		parts = append(parts, t.Piano)
	}
	return strings.Join(parts, " · ")
}

func (t *Take) evidence(i int) Evidence {
	f := &t.Assessment.Findings[i]
	e := Evidence{Number: i, Text: f.Text, Severity: f.Severity, From: f.From}
	for _, k := range t.Amended.Struck {
		e.Struck = e.Struck || k == i
	}
	var parts []string
	if f.Measured != nil && f.Unit != "" {
		s := fmt.Sprintf("measured %s", number(*f.Measured))
		if f.Limit != nil {
			s += fmt.Sprintf(", limit %s", number(*f.Limit))
		}
		parts = append(parts, s+" "+f.Unit)
	}
	if f.Source != "" {
		parts = append(parts, f.Source)
	}
	e.Detail = strings.Join(parts, "; ")
	return e
}

// music gathers what the script needs.
func (t *Take) music(e engraving, marks []Mark) music {
	m := music{Score: e.xml, Notes: []musicNote{}, Struck: []musicKey{}, Marks: marks}
	p := &pencil{ref: t.Reference}
	for i := range t.Reference.Notes {
		n := &t.Reference.Notes[i]
		m.Notes = append(m.Notes, musicNote{
			ID: e.ids[i], Pass: n.Pass, Onset: thousandths(n.Onset.Float()), Length: thousandths(n.Length.Float()), Key: n.Key(),
			Says: n.Pitch.Words() + ", " + p.where(i),
		})
	}
	for k := range t.Assessment.Notes {
		n := &t.Assessment.Notes[k]
		if n.Played == nil {
			continue
		}
		note := -1
		if n.Expected != nil {
			note = n.Expected.Index
		} else if n.Near != nil {
			note = *n.Near
		}
		m.Struck = append(m.Struck, musicKey{
			On: thousandths(n.Played.Onset), Length: thousandths(n.Played.Length), Key: n.Played.Key, Velocity: n.Played.Velocity, Note: note,
		})
	}
	return m
}

// packed is a value as JSON, gzipped, in base64: it is small, and no letter of it can end its element.
func packed(v any) (template.HTML, error) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if err := json.NewEncoder(z).Encode(v); err != nil {
		return "", err
	}
	if err := z.Close(); err != nil {
		return "", err
	}
	return template.HTML(base64.StdEncoding.EncodeToString(b.Bytes())), nil
}

func thousandths(v float64) float64 { return math.Round(1000*v) / 1000 }
