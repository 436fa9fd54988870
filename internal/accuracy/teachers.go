package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/stat"

	"evenhand/capture"
)

// rated is one recording of a pupil, by teachers and by the program.
type rated struct {
	piece       string
	teachers    float64 // mean of four, 1 to 5
	mark        float64
	regions     int // marked by hand as mistakes
	found       int // of these, with a finding in it
	placed, out int // findings placed in time, and those outside of every region
}

// teachers compares the overall mark with the mean of four teachers, and findings with the regions
// they marked.
func (m *measurer) teachers() ([]row, error) {
	about := func(what string, bar float64) row {
		return row{what: what, data: pupils.source, bar: bar, absent: !m.here(pupils)}
	}
	correlation := about("overall mark against the mean of four teachers (Pearson)", 0.80)
	least := about("the same within each piece, the least", 0.70)
	inside := about("regions marked by hand that hold a finding", 0)
	outside := about("findings outside of these regions", 0)
	rows := func() []row { return []row{correlation, least, inside, outside} }
	if correlation.absent {
		return rows(), nil
	}
	all, err := m.ratings()
	if err != nil {
		return nil, err
	}
	byPiece := map[string][]rated{}
	for _, r := range all {
		byPiece[r.piece] = append(byPiece[r.piece], r)
	}
	correlation.got, correlation.note = pearson(all), fmt.Sprintf("%d recordings", len(all))
	least.got = 1
	for piece, rs := range byPiece {
		if p := pearson(rs); p < least.got {
			least.got, least.note = p, piece
		}
	}
	var regions, found, placed, out int
	for _, r := range all {
		regions, found, placed, out = regions+r.regions, found+r.found, placed+r.placed, out+r.out
	}
	inside.got, inside.note = share(found, regions), fmt.Sprintf("%d of %d", found, regions)
	outside.got, outside.note = share(out, placed), fmt.Sprintf("%d of %d, in recordings with regions", out, placed)
	return rows(), nil
}

func share(n, of int) float64 { return float64(n) / float64(max(of, 1)) }

func pearson(rs []rated) float64 {
	var x, y []float64
	for _, r := range rs {
		x, y = append(x, r.teachers), append(y, r.mark)
	}
	return stat.Correlation(x, y, nil)
}

// ratings reads the table of ratings and judges each recording in it.
func (m *measurer) ratings() ([]rated, error) {
	f, err := os.Open(filepath.Join(m.data, pupils.folder, "ratings.tsv"))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	table := csv.NewReader(f)
	table.Comma = '\t'
	lines, err := table.ReadAll()
	if err != nil {
		return nil, err
	}
	var out []rated
	for _, line := range lines[1:] {
		r := rated{piece: line[0]}
		for _, mark := range line[2:] {
			v, err := strconv.ParseFloat(mark, 64)
			if err != nil {
				return nil, fmt.Errorf("ratings.tsv: %w", err)
			}
			r.teachers += v / float64(len(line)-2)
		}
		if err := m.rate(&r, line[1]); err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// rate judges one recording.
func (m *measurer) rate(r *rated, number string) error {
	base := filepath.Join(m.data, pupils.folder, r.piece, number)
	scores, _ := filepath.Glob(filepath.Join(filepath.Dir(base), "score.*"))
	if len(scores) == 0 {
		return fmt.Errorf("%s: no score beside it", base)
	}
	out, err := m.check(base+".mid", scores[0])
	if err != nil {
		return err
	}
	v, err := readVerdict(out)
	if err != nil {
		return err
	}
	if v.Marks.Overall == nil {
		return fmt.Errorf("%s: no overall mark", base)
	}
	r.mark = *v.Marks.Overall
	marked, err := capture.ReadFile(base + ".mistakes.mid")
	if err != nil {
		return nil // nothing was marked by hand
	}
	v.place(r, regionsOf(marked))
	return nil
}

type region struct{ from, to float64 } // s

// regionsOf are the regions of a recording: notes of key 0 span them.
func regionsOf(take *capture.Take) []region {
	var out []region
	for _, n := range take.Notes {
		if n.Key == 0 {
			out = append(out, region{n.On.Seconds(), n.Off.Seconds()})
		}
	}
	return out
}

// place counts regions with a finding in them, and findings outside of all.
func (v *verdict) place(r *rated, regions []region) {
	const slack = 0.5 // s, about a beat: hands that mark are not that exact
	hit := make([]bool, len(regions))
	for _, f := range v.Findings {
		if f.From == nil || f.To == nil || strings.EqualFold(f.Severity, "said") {
			continue
		}
		r.placed++
		in := false
		for i, g := range regions {
			if *f.To >= g.from-slack && *f.From <= g.to+slack {
				hit[i], in = true, true
			}
		}
		if !in {
			r.out++
		}
	}
	r.regions += len(regions)
	for _, h := range hit {
		if h {
			r.found++
		}
	}
}
