package main

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/references/musicxml"
)

// many is the larger number where EVENHAND_SOAK is set, and else the smaller.
func many(few, soak int) int {
	if n, _ := strconv.Atoi(os.Getenv("EVENHAND_SOAK")); n > 0 {
		return soak
	}
	return few
}

// damaged is what becomes of a file: it is cut within its header, is something else, or has no header or no
// track that is one.
func damaged(good []byte, kind int, rng *rand.Rand) []byte {
	switch kind % 5 {
	case 0:
		return good[:rng.IntN(22)]
	case 1:
		return []byte("Dear teacher, this is no music.\n")
	case 2:
		b := make([]byte, 500)
		for i := range b {
			b[i] = byte(rng.Uint32())
		}
		return b
	case 3:
		return bytes.ReplaceAll(good, []byte("MTrk"), []byte("MTrx"))
	}
	return bytes.Replace(good, []byte("MThd"), []byte("MThx"), 1)
}

// TestManyTakesInOneCall: 500 takes in one call (10,000 where EVENHAND_SOAK is set), a tenth as many of
// them damaged, come out in the order they were named in, each damaged one with its own line.
func TestManyTakesInOneCall(t *testing.T) {
	takes := many(500, 10000)
	good, err := os.ReadFile(aTake(t))
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	dir := t.TempDir()
	args := []string{"check", "--against", "C major scale, hands together", "--format", "json"}
	var whole, broken []string
	for i := range takes {
		path := filepath.Join(dir, fmt.Sprintf("%05d.mid", i))
		data := good
		if i%10 == 3 {
			data = damaged(good, i/10, rng)
			broken = append(broken, path)
		} else {
			whole = append(whole, path)
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	var out, errw bytes.Buffer
	began := time.Now()
	if status := run(context.Background(), strings.NewReader(""), &out, &errw, args); status != statusFault {
		t.Errorf("status %d", status)
	}
	t.Logf("%d takes in %v", takes, time.Since(began).Round(time.Millisecond))
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if len(lines) != len(whole) {
		t.Fatalf("%d takes told of, want %d", len(lines), len(whole))
	}
	for i, line := range lines {
		if want := fmt.Sprintf(`"take":"%s"`, whole[i]); !strings.Contains(line[:200], want) {
			t.Fatalf("line %d is %.200s, want %s", i, line, want)
		}
	}
	faults := strings.Split(strings.TrimSpace(errw.String()), "\n")
	if len(faults) != len(broken) {
		t.Fatalf("%d lines for %d damaged files: %.500s", len(faults), len(broken), &errw)
	}
	for i, line := range faults {
		if !strings.Contains(line, broken[i]) || !strings.HasPrefix(line, "evenhand: ") {
			t.Fatalf("%q, want a line on %s", line, broken[i])
		}
	}
}

// longScore is a score of bars with eight notes in each hand.
func longScore(bars int) string {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	rng := rand.New(rand.NewPCG(2, 2))
	note := func(octave, staff int) {
		fmt.Fprintf(&b, "<note><pitch><step>%c</step><octave>%d</octave></pitch><duration>1</duration><voice>%d</voice><type>eighth</type><staff>%d</staff></note>",
			"CDEFGAB"[rng.IntN(7)], octave+rng.IntN(2), staff, staff)
	}
	for bar := range bars {
		fmt.Fprintf(&b, `<measure number="%d">`, bar+1)
		if bar == 0 {
			b.WriteString("<attributes><divisions>2</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves></attributes>")
		}
		for range 8 {
			note(4, 1)
		}
		b.WriteString("<backup><duration>8</duration></backup>")
		for range 8 {
			note(2, 2)
		}
		b.WriteString("</measure>")
	}
	b.WriteString("</part></score-partwise>")
	return b.String()
}

// TestALongScore: a score of 10,000 notes (50,000 where EVENHAND_SOAK is set), played with one of
// each fault, is judged as a short one.
func TestALongScore(t *testing.T) {
	bars := many(10_000, 50_000) / 16
	text := longScore(bars)
	path := filepath.Join(t.TempDir(), "long.musicxml")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	ref, err := musicxml.Read(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if len(ref.Notes) != bars*16 {
		t.Fatalf("%d notes, want %d", len(ref.Notes), bars*16)
	}
	ref.Tempo = references.Tempo{BPM: 120, Beat: references.Q(1, 1)}
	n := len(ref.Notes)
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 1, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: n / 3, By: 1}, {Kind: pupil.LeftOut, At: n / 2}, {Kind: pupil.Restart, At: 2 * n / 3},
	}})
	played := filepath.Join(t.TempDir(), "long.mid")
	save(t, played, take)
	began := time.Now()
	a := one(t, must(t, "check", "--against", path, "--format", "json", played))
	t.Logf("%d notes in %v", n, time.Since(began).Round(time.Millisecond))
	if a.Counts.Wrong != 1 || a.Counts.Missing != 1 || len(a.Flow.Restarts) != 1 || a.Counts.Correct < n-2 {
		t.Errorf("counts %+v, restarts %+v, want one of each fault in %d notes", a.Counts, a.Flow.Restarts, n)
	}
}
