package references

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenhand/internal/outside"
)

// wholeList uses every key that a list may have.
const wholeList = `# A list with two studies, one chosen by each side.
name = "Whole"
about = "For tests."
level = 4

[limits]
evenness_percent = 11.5
together_ms = 40
chord_ms = 60
loudness_units = 10

[[total]]
from = 0
say = "Begun."
[[total]]
from = 70
say = "Done."

[[part]]
kind = "requests"
title = "By heart"
number = 3
chosen_by = "examiner"
weight = 20
loudness = ["pp", "mezzo forte"]

  [[part.ask]]
  what = "scale"
  keys = [
    "B flat major", # the first
    "E harmonic minor",
  ]
  hands = ["together", "separately"]
  octaves = 3
  touch = ["legato", "staccato"]
  tempo = "dotted crotchet = 60"
  notes_per_beat = 3
  [[part.ask]]
  keys = "D major"
  motion = ["similar", "contrary"]
  [[part.ask]]
  what = "arpeggio"
  keys = ["dominant seventh in the key of C"]
  more = ["root position", "first inversion"]
  [[part.ask]]
  what = "five-finger pattern"
  keys = ["C major"]
  hands = "right"

[[part]]
kind = "studies"
chosen_by = "pupil"
[[part]]
kind = "studies"
chosen_by = "examiner"
titles = ["One", "Two"]
[[part]]
kind = "pieces"
number = 3
[[part]]
kind = "sight-reading"
level = 2
look_seconds = 45
[[part]]
kind = "questions"
number = 5
chosen_by = "examiner"
[[part]]
kind = "ear tests"
items = ["echo", "beat", "beat"]
`

func TestReadListReadsEverything(t *testing.T) {
	l, err := ReadList(strings.NewReader(wholeList))
	if err != nil {
		t.Fatal(err)
	}
	if l.Name != "Whole" || l.Level != 4 || l.Limits != (ListLimits{11.5, 40, 60, 10}) || l.Total[0] != (TotalWords{70, "Done."}) {
		t.Errorf("%+v", l)
	}
	var parts []string
	for _, p := range l.Parts {
		parts = append(parts, fmt.Sprint(p.Kind, "/", p.Title, "/", p.Number, "/", p.ChosenBy, "/", p.Weight, "/", p.Level, "/", p.Look, p.Titles, p.Items, p.Loudness))
	}
	want := `requests/By heart/3/examiner/20/0/0 [] [] [pp mf]
studies/Studies/1/pupil/1/0/0 [] [] []
studies/Studies/1/examiner/1/0/0 [One Two] [] []
pieces/Pieces/3/pupil/1/0/0 [] [] []
sight-reading/Reading at sight/1/examiner/1/2/45 [] [] []
questions/Questions on the favourite piece/5/examiner/1/4/0 [] [] []
ear tests/Ear tests/3/examiner/1/4/0 [] [echo beat beat] []`
	if got := strings.Join(parts, "\n"); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	pool := l.Parts[0].Pool
	// Two keys, three choices of hands and two touches; two motions; two inversions; one pattern.
	if len(pool) != 2*3*2+2+2+1 {
		t.Errorf("%d may be asked", len(pool))
	}
	first := pool[0]
	if first.Request.String() != "B flat major scale, hands together, similar motion, 3 octaves, legato" ||
		first.Least.NotesPerSecond() != 3 || first.Least.String() != "dotted crotchet = 60, three notes to the beat" {
		t.Errorf("first %s at %s", first.Request, first.Least)
	}
}

// Each fault is told with its line and the remedy.
func TestReadListTellsEachFault(t *testing.T) {
	for _, c := range []struct {
		was, is string
		line    int
		says    string
	}{
		{`name = "Whole"`, `name = Whole`, 2, "this is no TOML"},
		{`name = "Whole"`, ``, 1, `a list needs name, as in name = "Level 3"`},
		{`level = 4`, `level = 9`, 4, "level is 9: give it a number from 0 to 8"},
		{`level = 4`, `level = 1.5`, 4, "give it a whole number"},
		{`level = 4`, `level = "4"`, 4, "level has to be a number, without quotes"},
		{`level = 4`, `lvel = 4`, 4, `"lvel" is not known in a list: did you mean "level"?`},
		{`together_ms = 40`, `together = 40`, 8, `"together" is not known in the limits: did you mean "together_ms"?`},
		{`evenness_percent = 11.5`, `evenness_percent = 0`, 7, "from 1 to 50"},
		{`say = "Begun."`, `say = 3`, 14, "say has to be a text in quotes"},
		{`from = 70`, `from = -1`, 16, "from 0 to 100"},
		{`kind = "requests"`, `kind = "request"`, 20, `"request" is not known for kind: did you mean "requests"?`},
		{`kind = "requests"`, ``, 19, "a part needs kind"},
		{`chosen_by = "examiner"`, `chosen_by = "teacher"`, 23, `"teacher" is not known for chosen_by`},
		{`weight = 20`, `weight = 0`, 24, "from 0.1 to 1000"},
		{`"mezzo forte"]`, `"medium"]`, 25, `"medium" is not known for loudness`},
		{`"E harmonic minor",`, `"H harmonic minor",`, 31, `"H"`},
		{`"E harmonic minor",`, `"G sharp major",`, 31, "G sharp major has no key signature: ask for A flat major"},
		{`"E harmonic minor",`, `7,`, 31, "keys has to be a text in quotes"},
		{`"E harmonic minor",`, `"E harmonic minor, forte",`, 31, "the loudness is not said with the key"},
		{`"E harmonic minor",`, `"E harmonic minor, crotchet = 60",`, 31, "the tempo is not said with the key"},
		{`"separately"]`, `"seperately"]`, 33, `"seperately" is not known for hands: did you mean "separately"?`},
		{`octaves = 3`, `octaves = 5`, 34, "octaves is 5: give it a number from 1 to 4"},
		{`tempo = "dotted crotchet = 60"`, `tempo = "fast"`, 36, `"fast"`},
		{`tempo = "dotted crotchet = 60"`, `tempo = "forte"`, 36, `"forte" is no tempo`},
		{`tempo = "dotted crotchet = 60"`, ``, 37, "notes to the beat tell no speed alone"},
		{`motion = ["similar", "contrary"]`, "hands = \"right\"\n  motion = [\"similar\", \"contrary\"]", 39, "contrary motion needs both hands"},
		{`keys = "D major"`, `keys = [` + strings.Repeat(`"D major", `, 251) + `]`, 38, "502 requests in one group: at most 500"},
		{`keys = "D major"`, ``, 38, "needs keys, as in keys"},
		{`hands = "right"`, "hands = \"right\"\n  octaves = 2", 47, "five-finger patterns stay in one position"},
		{`number = 3
chosen_by`, `number = 30
chosen_by`, 22, "30 requests are asked and only 11 differ"},
		{`titles = ["One", "Two"]`, `titles = []
number = 2
titels = ["One"]`, 58, `"titels" is not known in a part of studies: did you mean "titles"`},
		{`titles = ["One", "Two"]`, "titles = \"One\"\nnumber = 2", 56, "2 are asked and the titles are only 1: name more"},
		{`"echo", "beat"`, `"echos", "beat"`, 70, `"echos" is not known for items: did you mean "echo"?`},
		{`items = ["echo", "beat", "beat"]`, `items = []`, 70, "no ear test is asked"},
		{`kind = "ear tests"`, "kind = \"ear tests\"\nloudness = [\"p\"]", 70, `"loudness" is not known in a part of ear tests`},
		{`[limits]`, `[[limits]]`, 6, "limits has to be written under a heading [limits]"},
		{`[[total]]
from = 0`, `[total]
from = 0`, 15, "this is no TOML"},
	} {
		text := strings.Replace(wholeList, c.was, c.is, 1)
		if text == wholeList {
			t.Fatalf("%q is not in the list", c.was)
		}
		_, err := ReadList(strings.NewReader(text))
		var faults ListFaults
		if !errors.As(err, &faults) {
			t.Errorf("%q: %v", c.is, err)
			continue
		}
		if f := faults[0]; f.Line != c.line || !strings.Contains(f.Text, c.says) || len(faults) > 1 || strings.Contains(f.Error(), "\n") {
			t.Errorf("%q:\n got %v\nwant line %d: ...%s", c.is, faultLines(faults), c.line, c.says)
		}
	}
}

// A list may come from any editor, and say hands and motion in full.
func TestReadListIsNotParticular(t *testing.T) {
	want, err := ReadList(strings.NewReader(wholeList))
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer(
		"\n", "\r\n", `"together", "separately"`, `"Hands together", "right hand", "left hand"`,
		`"similar", "contrary"`, `"similar motion", "contrary motion"`, `"B flat major"`, `"B♭ major"`,
	).Replace(wholeList)
	got, err := ReadList(strings.NewReader("\ufeff" + text))
	if err != nil || fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v: got\n%v\nwant\n%v", err, got, want)
	}
}

func faultLines(fs ListFaults) (all []string) {
	for _, f := range fs {
		all = append(all, f.Error())
	}
	return all
}

func TestReadListTellsAllFaultsInOrder(t *testing.T) {
	_, err := ReadList(strings.NewReader("level = 10\nparts = 3\n[[part]]\nkind = \"ear\"\n"))
	var faults ListFaults
	if !errors.As(err, &faults) || len(faults) != 4 || !slices.IsSortedFunc(faults, func(a, b ListFault) int { return a.Line - b.Line }) {
		t.Fatalf("%q", faultLines(faults))
	}
	if !strings.HasSuffix(err.Error(), "(and 3 more)") {
		t.Errorf("%v", err)
	}
}

// FuzzReadList reads anything: it gives a list or faults of one line each, and never both.
func FuzzReadList(f *testing.F) {
	f.Add(wholeList)
	f.Add("[[part]]\n[[part.ask]]\n[part.ask.x]\na.b = [{c = [1, {d = 2}]}]")
	f.Add("part = [1, [2], {kind = \"requests\", ask = 3}]\nlimits = 5\ntotal = [[]]")
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ReadList(strings.NewReader(text))
		if (l == nil) == (err == nil) {
			t.Fatalf("list %v and error %v", l, err)
		}
		var faults ListFaults
		if errors.As(err, &faults) {
			for _, fault := range faults {
				if fault.Line < 1 || fault.Line > strings.Count(text, "\n")+2 || strings.ContainsAny(fault.Text, "\n\r") {
					t.Errorf("fault %q", fault.Error())
				}
			}
		}
	})
}

func TestListsAreComplete(t *testing.T) {
	lists := Lists()
	if len(lists) != 9 {
		t.Fatalf("%d lists", len(lists))
	}
	for level, l := range lists {
		if l.Level != level || !strings.EqualFold(l.Name, listNames[level]) {
			t.Errorf("list %d is %q of level %d", level, l.Name, l.Level)
		}
		if !strings.Contains(l.About, "Common practice, and no exam body's.") || !strings.Contains(string(l.Text), "common practice, no exam body's") {
			t.Errorf("%s does not say what it is: %q", l.Name, l.About)
		}
		sum := 0.0
		for _, p := range l.Parts {
			sum += p.Weight
		}
		if n := len(l.Total); n == 0 || l.Total[n-1].From != 0 {
			t.Errorf("%s has nothing to say of some totals", l.Name)
		}
		if level > 0 && sum != 100 {
			t.Errorf("the weights of %s add up to %g", l.Name, sum)
		}
	}
}

// From level to level nothing gets slower or more lenient.
func TestListsGoUp(t *testing.T) {
	lists := Lists()
	fastest := func(l *List) (scales float64) {
		for _, p := range l.Parts {
			for _, r := range p.Pool {
				scales = max(scales, r.Least.NotesPerSecond())
			}
		}
		return scales
	}
	for i := 1; i < len(lists); i++ {
		a, b := lists[i-1], lists[i]
		if fastest(a.List) >= fastest(b.List) || a.Limits.EvennessPercent < b.Limits.EvennessPercent ||
			a.Limits.TogetherMS < b.Limits.TogetherMS || a.Limits.LoudnessUnits < b.Limits.LoudnessUnits {
			t.Errorf("from %s to %s: %g to %g notes a second, limits %+v and %+v", a.Name, b.Name, fastest(a.List), fastest(b.List), a.Limits, b.Limits)
		}
	}
}

func TestFindList(t *testing.T) {
	for name, level := range map[string]int{"level 3": 3, "Level-3": 3, "3": 3, "first step": 0, "First_Step": 0, "0": 0, " level  8 ": 8} {
		if l, err := FindList(name); err != nil || l.Level != level {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := FindList("levl 3"); err == nil || !strings.Contains(err.Error(), `did you mean "level 3"`) {
		t.Errorf("%v", err)
	}
}

// What the built-in lists ask is spelled as @tonaljs/tonal 4.10.0 spells it: every scale in a key and every
// arpeggio in root position.
func TestListsAgainstTonal(t *testing.T) {
	names := map[Form]string{Major: "major", NaturalMinor: "minor", HarmonicMinor: "harmonic minor", MelodicMinor: "melodic minor"}
	chords := map[Form]string{Major: "M", Minor: "m", DominantSeventh: "7", DiminishedSeventh: "dim7"}
	var questions [][3]string
	var ours []string
	for _, l := range Lists() {
		for _, p := range l.Parts {
			for _, r := range p.Pool {
				q := r.Request
				what, form := "scale", names[q.Form]
				if q.Kind == Arpeggio {
					what, form = "chord", chords[q.Form]
				}
				if form == "" || q.Kind != Scale && q.Kind != Arpeggio || q.Inversion != 0 {
					continue
				}
				q.Motion, q.Apart, q.Double = Similar, OctaveApart, Single
				questions = append(questions, [3]string{what, ascii(q.Tonic), form})
				ours = append(ours, strings.Join(firstOctave(t, q), " "))
			}
		}
	}
	in, err := json.Marshal(questions)
	if err != nil {
		t.Fatal(err)
	}
	var answers [][]string
	if err := json.Unmarshal(bytes.TrimSpace(outside.Node(t, tonalScript, in)), &answers); err != nil {
		t.Fatal(err)
	}
	for i := range questions {
		if theirs := strings.Join(answers[i], " "); ours[i] != theirs {
			t.Errorf("%v:\n ours  %s\n tonal %s", questions[i], ours[i], theirs)
		}
	}
	if len(questions) < 250 {
		t.Errorf("only %d compared", len(questions))
	}
}

func TestRequestText(t *testing.T) {
	for _, l := range Lists() {
		for _, p := range l.Parts {
			for _, r := range p.Pool {
				text, err := json.Marshal(r.Request)
				if err != nil {
					t.Fatal(err)
				}
				var read Request
				if err := json.Unmarshal(text, &read); err != nil || read.String() != r.Request.String() {
					t.Errorf("%s is read as %s (%v)", text, read, err)
				}
			}
		}
	}
	var r Request
	if err := json.Unmarshal([]byte(`"Q major"`), &r); err == nil || r != (Request{}) {
		t.Errorf("%v, %v", r, err)
	}
}
