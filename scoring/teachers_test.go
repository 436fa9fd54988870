package scoring

import (
	"math"
	"os"
	"sort"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/musicxml"
)

// readScore reads a score of the open data.
func readScore(t testing.TB, path string) *references.Reference {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ref, err := musicxml.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// lessonTake is one recording that teachers rated from 1 to 5.
type lessonTake struct {
	piece, take string
	rating      float64 // mean of the teachers
	path        string
	judged      *Assessment
}

// lessonTakes judges every rated recording. The data: 39 recordings of three easy pieces by players
// from beginner to advanced, four teachers' ratings and hand-marked regions of mistakes; Jiang, ISMIR
// 2023, in the copy that the folder's SOURCE.txt names (the author states CC BY 4.0).
func lessonTakes(t *testing.T) []lessonTake {
	t.Helper()
	text, err := os.ReadFile(outside.Data(t, "pupils", "ratings.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	scores := map[string]*references.Reference{}
	var out []lessonTake
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		f := strings.Split(strings.TrimSpace(line), "\t")
		l := lessonTake{piece: f[0], take: f[1], path: outside.Data(t, "pupils", f[0], f[1]+".mid")}
		for _, r := range f[2:] {
			v, err := strconv.ParseFloat(r, 64)
			if err != nil {
				t.Fatal(err)
			}
			l.rating += v / float64(len(f)-2)
		}
		if scores[l.piece] == nil {
			scores[l.piece] = readScore(t, outside.Data(t, "pupils", l.piece, "score.mxl"))
		}
		take, err := capture.ReadFile(l.path)
		if err != nil {
			t.Fatal(err)
		}
		a := align.Align(scores[l.piece], take, 0, 0)
		l.judged = Assess(a, Asked{Take: l.take, Against: l.piece}, DefaultSettings())
		out = append(out, l)
	}
	return out
}

// TestMarksAgreeWithTeachers: the overall mark follows the mean of four teachers.
func TestMarksAgreeWithTeachers(t *testing.T) {
	takes := lessonTakes(t)
	var marks, ratings []float64
	for _, l := range takes {
		m := l.judged.Marks
		if m.Overall == nil || m.Notes == nil {
			t.Fatalf("%s %s: no mark", l.piece, l.take)
		}
		sound := "-"
		if m.Sound != nil {
			sound = strconv.Itoa(*m.Sound)
		}
		t.Logf("%-14s %s  teachers %.2f  overall %3d  notes %3d time %3d sound %3s", l.piece, l.take, l.rating, *m.Overall, *m.Notes, *m.Time, sound)
		marks, ratings = append(marks, float64(*m.Overall)), append(ratings, l.rating)
	}
	r, rho := stat.Correlation(marks, ratings, nil), spearman(marks, ratings)
	t.Logf("all %d: Pearson %.3f, Spearman %.3f", len(takes), r, rho)
	byPiece := map[string][2][]float64{}
	for i, l := range takes {
		p := byPiece[l.piece]
		byPiece[l.piece] = [2][]float64{append(p[0], marks[i]), append(p[1], ratings[i])}
	}
	for piece, p := range byPiece {
		t.Logf("%s: Pearson %.3f, Spearman %.3f", piece, stat.Correlation(p[0], p[1], nil), spearman(p[0], p[1]))
	}
	if r < 0.8 {
		t.Errorf("Pearson correlation with the teachers' mean %.3f, want at least 0.80", r)
	}
}

// spearman is the correlation of ranks, equal values sharing theirs.
func spearman(a, b []float64) float64 { return stat.Correlation(ranks(a), ranks(b), nil) }

func ranks(xs []float64) []float64 {
	order := make([]int, len(xs))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(i, j int) bool { return xs[order[i]] < xs[order[j]] })
	out := make([]float64, len(xs))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && xs[order[j]] == xs[order[i]] {
			j++
		}
		for _, k := range order[i:j] {
			out[k] = float64(i+j-1) / 2
		}
		i = j
	}
	return out
}

// TestMarksLeavePieceOut: with how much the marks for notes, time and sound weigh fitted on two pieces
// only, the mark still follows the teachers on the third.
func TestMarksLeavePieceOut(t *testing.T) {
	takes := lessonTakes(t)
	pieces := []string{"CarelessLove", "LavendersBlue", "OverTheWaves"}
	weights := []float64{0.25, 0.5, 0.75, 1, 1.5, 2, 3}
	var all, ratings []float64
	for _, out := range pieces {
		var best [3]float64
		top := -1.0
		for _, n := range weights {
			for _, tm := range weights {
				for _, s := range weights {
					w := [3]float64{n, tm, s}
					if r := weighed(takes, w, func(p string) bool { return p != out }); r > top {
						best, top = w, r
					}
				}
			}
		}
		r := weighed(takes, best, func(p string) bool { return p == out })
		t.Logf("without %-13s: weights %v, Pearson %.3f on the other two, %.3f on it", out, best, top, r)
		if r < 0.6 {
			t.Errorf("%s left out: Pearson %.3f", out, r)
		}
		for _, l := range takes {
			if l.piece == out {
				all, ratings = append(all, reweighed(l.judged, best)), append(ratings, l.rating)
			}
		}
	}
	r := stat.Correlation(all, ratings, nil)
	t.Logf("all by weights of the other two pieces: Pearson %.3f, Spearman %.3f", r, spearman(all, ratings))
	if r < 0.7 {
		t.Errorf("Pearson correlation %.3f with each piece left out in turn, want at least 0.70", r)
	}
}

// reweighed is the overall mark with the losses of notes, time and sound weighed otherwise.
func reweighed(a *Assessment, w [3]float64) float64 {
	var sum float64
	for _, f := range a.Findings {
		if f.mark != noMark {
			sum += w[f.mark-notesMark] * f.loss
		}
	}
	return 100 * math.Exp(-sum)
}

func weighed(takes []lessonTake, w [3]float64, in func(piece string) bool) float64 {
	var xs, ys []float64
	for _, l := range takes {
		if in(l.piece) {
			xs, ys = append(xs, reweighed(l.judged, w)), append(ys, l.rating)
		}
	}
	return stat.Correlation(xs, ys, nil)
}

// moments are the seconds at which a finding lies: of each note it is about, or of its ends.
func moments(a *Assessment, f *Finding) []float64 {
	var out []float64
	for _, k := range f.Notes {
		if p := a.Notes[k].Played; p != nil {
			out = append(out, p.Onset)
		}
	}
	if f.FromS != nil && len(out) == 0 {
		out = append(out, *f.FromS, *f.ToS)
	}
	return out
}

// TestMistakesAreWhereTeachersHeardThem: findings lie in the regions that were marked by hand as
// mistakes. The regions are notes of key 0 in a file of their own, in the time of the recording.
func TestMistakesAreWhereTeachersHeardThem(t *testing.T) {
	const margin = 0.25 // s, for the hand that marked
	var marked, found, placed, outside int
	for _, l := range lessonTakes(t) {
		take, err := capture.ReadFile(strings.TrimSuffix(l.path, ".mid") + ".mistakes.mid")
		if err != nil {
			continue // none was marked
		}
		// The file holds the notes of the recording as well; some were cut at the front.
		var regions []capture.Note
		shift := -1.0
		for _, n := range take.Notes {
			if n.Key == 0 {
				regions = append(regions, n)
			} else if shift < 0 {
				shift = firstPlayed(l.judged) - n.On.Seconds()
			}
		}
		in := func(at float64, r capture.Note) bool {
			at -= shift
			return at >= r.On.Seconds()-margin && at <= r.Off.Seconds()+margin
		}
		hit := make([]bool, len(regions))
		before, all := found, marked
		for i := range l.judged.Findings {
			f := &l.judged.Findings[i]
			// What is said only, and what is about the whole sound, is no mistake at a place.
			if f.Severity == Said || f.mark == soundMark {
				continue
			}
			at := moments(l.judged, f)
			if len(at) == 0 {
				continue
			}
			placed++
			inside := false
			for _, m := range at {
				for k, r := range regions {
					if in(m, r) {
						hit[k], inside = true, true
					}
				}
			}
			if !inside {
				outside++
			}
		}
		for _, h := range hit {
			marked++
			if h {
				found++
			}
		}
		t.Logf("%-14s %s: %d of %d regions hold a finding", l.piece, l.take, found-before, marked-all)
	}
	t.Logf("%d of %d regions hold a finding; %d of %d findings placed in time lie outside", found, marked, outside, placed)
	if 10*found < 8*marked {
		t.Errorf("only %d of %d marked regions hold a finding", found, marked)
	}
}

// firstPlayed is when the first note of a take was struck, in seconds.
func firstPlayed(a *Assessment) float64 {
	first := math.Inf(1)
	for _, n := range a.Notes {
		if n.Played != nil {
			first = min(first, n.Played.Onset)
		}
	}
	return first
}
