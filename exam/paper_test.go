package exam_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"evenhand/exam"
	"evenhand/references"
)

// aPaper has a part of every kind.
func aPaper(t *testing.T) *exam.Paper {
	t.Helper()
	r, err := references.Parse("B flat major, hands together, contrary motion, two octaves, piano")
	if err != nil {
		t.Fatal(err)
	}
	piece := &exam.Score{Title: "Raindrops", Path: "raindrops.musicxml"}
	return &exam.Paper{
		Schema: exam.Schema, List: "Any", Level: 3, Seed: 7,
		Sections: []exam.Section{{Title: "Scales", Weight: 60}, {Title: "All else", Weight: 40}},
		Parts: []exam.Part{
			{Section: 0, Number: 1, Kind: exam.Request, ChosenBy: references.Examiner, Words: r.Spoken(), Request: &exam.Asked{Request: r, Least: 2}},
			{Section: 1, Number: 1, Kind: exam.Study, ChosenBy: references.Pupil},
			{Section: 1, Number: 2, Kind: exam.Piece, ChosenBy: references.Pupil, Score: piece},
			{Section: 1, Number: 3, Kind: exam.SightReading, Reading: &exam.Fresh{Level: 3, Seed: 11, Look: 30}},
			{Section: 1, Number: 4, Kind: exam.Questions, Score: piece, Questions: &exam.QuestionsAsk{Level: 3, Seed: 12, Number: 4}},
			{Section: 1, Number: 5, Kind: exam.Ear, Ear: &exam.EarItem{Kind: "beat", Level: 3, Seed: 13}},
		},
	}
}

func TestPaperIsKeptAsJSON(t *testing.T) {
	want := aPaper(t)
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(text, []byte(`"ask":"B flat major scale, hands together, contrary motion, 2 octaves, legato, piano"`)) {
		t.Errorf("the request is not in words: %s", text)
	}
	got, err := readPaper(text)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(references.Quarters{})); diff != "" {
		t.Errorf("the paper read is not the one kept (-kept +read):\n%s", diff)
	}
}

// readPaper is a paper as the beginning of an exam has it.
func readPaper(text []byte) (*exam.Paper, error) {
	var paper struct{ Parts []any }
	if err := json.Unmarshal(text, &paper); err != nil {
		return nil, err
	}
	steps, err := json.Marshal(make([]int, len(paper.Parts)))
	if err != nil {
		return nil, err
	}
	opened := fmt.Appendf(nil, `{"schema":%d,"kind":%q,"open":{"paper":%s,"steps":%s}}`, exam.EventSchema, exam.Opened, text, steps)
	s, err := exam.Replay([][]byte{opened})
	if err != nil {
		return nil, err
	}
	return s.Paper, nil
}

func TestWhatIsNoPaperIsTold(t *testing.T) {
	for text, says := range map[string]string{
		`{"schema":9}`: "schema 9",
		`{"schema":1}`: "nothing is asked",
		`{"schema":1,"sections":[{}],"parts":[{"section":1,"kind":"piece"}]}`:                   "part 1: it belongs to no section",
		`{"schema":1,"sections":[{}],"parts":[{"kind":"dance"}]}`:                               `no kind of part "dance"`,
		`{"schema":1,"sections":[{}],"parts":[{"kind":"ear"}]}`:                                 "what is asked is missing (ear)",
		`{"schema":1,"sections":[{}],"parts":[{"kind":"request","request":{"ask":"H major"}}]}`: "H",
	} {
		_, err := readPaper([]byte(text))
		if err == nil || !strings.Contains(err.Error(), says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v; want one line with %q", text, err, says)
		}
	}
}

func TestOpenScoresOpensEachOnce(t *testing.T) {
	p, opened := aPaper(t), 0
	p.Parts[1].Score = &exam.Score{Title: "Lost", Path: "lost.musicxml"}
	faults := p.OpenScores(func(path string) (*references.Reference, error) {
		opened++
		if path == "lost.musicxml" {
			return nil, errors.New("no such file")
		}
		return &references.Reference{Title: path}, nil
	})
	if len(faults) != 1 || !strings.Contains(faults[0].Error(), "Lost cannot be opened: no such file") {
		t.Errorf("faults %v", faults)
	}
	// The piece of the questions and the piece played are one score.
	if ref := p.Parts[4].Score.Reference; opened != 2 || ref == nil || ref != p.Parts[2].Score.Reference {
		t.Errorf("opened %d scores, the questions have %v", opened, ref)
	}
}
