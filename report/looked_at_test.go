package report

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"evenhand/references"
	"evenhand/scoring"
)

// seen is one mark as it stands on the page: its sign, the note it is at, and the horizontal middle of
// that note's head and of what the pencil drew for it.
type seen struct {
	Sign, Note, Label string
	Index             int
	Head, Drawn       float64
}

const lookScript = `[...document.querySelectorAll("button[data-mark]")].map(b => {
	const middle = e => { const r = e.getBoundingClientRect(); return r.left + r.width / 2; };
	const head = b.dataset.note ? document.getElementById(b.dataset.note).querySelector(".notehead") : null;
	const system = b.closest(".system");
	const near = system && head ? [...system.querySelectorAll(".pencil path")].map(middle).sort((x, y) => Math.abs(x - middle(head)) - Math.abs(y - middle(head)))[0] : 0;
	return { Sign: b.dataset.sign, Note: b.dataset.note || "", Label: b.getAttribute("aria-label"), Index: +b.dataset.mark, Head: head ? middle(head) : 0, Drawn: near };
})`

// TestPagesInABrowser looks at the pages of a scale, of a piece of ours, and of a pianist's take.
func TestPagesInABrowser(t *testing.T) {
	for _, tt := range []struct {
		name string
		take func(testing.TB) *Take
	}{{"scale", aScale}, {"piece", aPiece}, {"pianist", aVienna}} {
		t.Run(tt.name, func(t *testing.T) {
			take := tt.take(t)
			s := show(t, take, 1440, 900)
			t.Logf("drawn after %s ms", value[string](s, `document.documentElement.dataset.ready`))
			s.marks(take)
			s.noOverflow(1440)
			s.named()
			s.byKeys()
			s.resized(360)
			s.marks(take)
			s.noOverflow(360)
			s.printed()
			s.quiet()
		})
	}
}

// marks checks number and place of the marks against the assessment and the score in the page, read
// afresh.
func (s *shown) marks(take *Take) {
	s.t.Helper()
	all := value[[]seen](s, lookScript)
	got := map[Sign]int{}
	places := map[string]int{} // sign, bar as printed and pitch
	score := printedNotes(s.t, scoreIn(s.t, value[string](s, `document.getElementById("music").textContent`)))
	for _, m := range all {
		got[Sign(m.Sign)]++
		if m.Sign == string(Margin) {
			continue
		}
		n, ok := score[m.Note]
		if !ok {
			s.t.Errorf("mark %q is at note %q, which is not in the score", m.Label, m.Note)
		}
		places[m.Sign+" "+n]++
		if (m.Sign == string(Ring) || m.Sign == string(Caret)) && math.Abs(m.Head-m.Drawn) > 3 {
			s.t.Errorf("%s %q is drawn %.1f px from its note", m.Sign, m.Label, m.Drawn-m.Head)
		}
	}
	for sign, want := range due(take.Assessment) {
		if sign != Back && got[sign] != want {
			s.t.Errorf("%d of %s on the page, want %d", got[sign], sign, want)
		}
	}
	if n := value[int](s, `document.querySelectorAll(".pencil .ring").length`); n != take.Assessment.Counts.Wrong {
		s.t.Errorf("%d rings are drawn, want %d", n, take.Assessment.Counts.Wrong)
	}
	for place, n := range wanted(take) {
		if places[place] != n {
			s.t.Errorf("%s: %d times on the page, want %d", place, places[place], n)
		}
	}
}

// wanted are the places of rings and carets by the assessment's own words: bar and name.
func wanted(take *Take) map[string]int {
	out := map[string]int{}
	for _, n := range take.Assessment.Notes {
		sign := map[string]Sign{"wrong": Ring, "missing": Caret}[n.Verdict]
		if sign == "" || passage(take.Assessment, n) {
			continue
		}
		out[fmt.Sprintf("%s %s %s", sign, n.Expected.Bar, strings.TrimRight(n.Expected.Name, "0123456789"))]++
	}
	return out
}

func passage(a *scoring.Assessment, n scoring.NoteLine) bool {
	for _, skip := range a.Flow.Skips {
		if n.Verdict == "missing" && n.Expected.Onset >= skip.FromOnset && n.Expected.Onset < skip.ToOnset {
			return true
		}
	}
	return false
}

// scoreIn is the MusicXML in a page.
func scoreIn(t testing.TB, packed string) string {
	t.Helper()
	z, err := gzip.NewReader(base64.NewDecoder(base64.StdEncoding, strings.NewReader(packed)))
	if err != nil {
		t.Fatal(err)
	}
	var m struct{ Score string }
	if err := json.NewDecoder(z).Decode(&m); err != nil {
		t.Fatal(err)
	}
	return m.Score
}

// printedNotes are the notes of a score by their id, as "bar name".
func printedNotes(t testing.TB, text string) map[string]string {
	t.Helper()
	var score struct {
		Bars []struct {
			Number string `xml:"number,attr"`
			Notes  []struct {
				ID    string `xml:"id,attr"`
				Step  string `xml:"pitch>step"`
				Alter int    `xml:"pitch>alter"`
			} `xml:"note"`
		} `xml:"part>measure"`
	}
	d := xml.NewDecoder(strings.NewReader(text))
	if err := d.Decode(&score); err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, b := range score.Bars {
		for _, n := range b.Notes {
			out[n.ID] = b.Number + " " + n.Step + map[int]string{-2: "𝄫", -1: "♭", 1: "♯", 2: "𝄪"}[n.Alter]
		}
	}
	return out
}

// noOverflow checks that nothing is wider than the window.
func (s *shown) noOverflow(width int) {
	s.t.Helper()
	if over := value[int](s, `document.documentElement.scrollWidth`); over > width {
		s.t.Errorf("at %d px the page is %d px wide: %s", width, over, value[string](s, fmt.Sprintf(
			`[...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > %d).map(e => e.tagName + "." + e.className).slice(0, 5).join(" ")`, width)))
	}
}

// named checks that all that can be pressed or seen has a name in words.
func (s *shown) named() {
	s.t.Helper()
	nameless := value[[]string](s, `[...document.querySelectorAll("button, select, summary, img, a")].filter(e => !(e.getAttribute("aria-label") || (e.labels?.length ? "labelled" : "") || e.alt || e.textContent || "").trim()).map(e => e.outerHTML.slice(0, 120))`)
	for _, e := range nameless {
		s.t.Errorf("has no name: %s", e)
	}
}

// press presses keys.
func (s *shown) press(keys ...string) {
	s.t.Helper()
	for _, k := range keys {
		s.run(chromedp.KeyEvent(k))
	}
}

// until waits for something to become true in the page.
func (s *shown) until(what, expression string) {
	s.t.Helper()
	if err := chromedp.Do(s.ctx, chromedp.Poll[chromedp.Void](expression, chromedp.WithPollingInterval(20*time.Millisecond), chromedp.WithPollingTimeout(printing))); err != nil {
		s.t.Fatalf("%s: %v", what, err)
	}
}

// tab goes on with the tabulator until an expression about the focused element e holds.
func (s *shown) tab(what, expression string) {
	s.t.Helper()
	for range 60 {
		s.press(kb.Tab)
		if value[bool](s, `(e => !!(`+expression+`))(document.activeElement)`) {
			return
		}
	}
	s.t.Fatalf("the tabulator does not come to %s", what)
}

// byKeys uses the page with the keyboard alone.
func (s *shown) byKeys() {
	s.t.Helper()
	s.tab("the take's button", `e.id === "hear-take"`)
	s.press(kb.Enter)
	s.until("the place moves along", `document.querySelector(".here") && document.getElementById("hear-take").getAttribute("aria-pressed") === "true"`)
	s.press(kb.Enter)
	s.until("the playing stops", `document.getElementById("hear-take").getAttribute("aria-pressed") === "false" && !document.querySelector(".here")`)
	s.tab("the score", `e.id === "score"`)
	s.press(kb.ArrowRight, kb.ArrowRight)
	if said := value[string](s, `document.getElementById("told").textContent`); said == "" {
		s.t.Error("an arrow key tells of no note")
	}
	if n := value[int](s, `document.querySelectorAll(".chosen").length`); n != 1 {
		s.t.Errorf("%d notes are chosen, want 1", n)
	}
	if value[int](s, `document.querySelectorAll("button[data-mark]").length`) == 0 {
		return
	}
	s.tab("a mark", `e.dataset.mark`)
	mark := value[string](s, `document.activeElement.dataset.mark`)
	s.press(kb.Enter)
	if !value[bool](s, `document.activeElement.id === "slip" && document.activeElement.textContent.length > 20`) {
		s.t.Error("a mark pressed with Enter does not show its evidence")
	}
	s.press(kb.Escape)
	if at := value[string](s, `document.activeElement.dataset.mark || ""`); at != mark || value[bool](s, `!!document.getElementById("slip")`) {
		s.t.Errorf("after Escape the focus is at mark %q, want %q, with the slip put away", at, mark)
	}
}

// resized makes the window as wide and waits until the score is drawn anew.
func (s *shown) resized(width int64) {
	s.t.Helper()
	s.run(chromedp.EmulateViewport(width, 740))
	s.until("the score is drawn for the new width", `Math.abs(+document.getElementById("score").dataset.width - document.getElementById("score").clientWidth) <= 8`)
}

// printed prints the page on both papers.
func (s *shown) printed() {
	s.t.Helper()
	for _, paper := range []Paper{A4, Letter} {
		pdf, err := chromedp.Run(s.ctx, printed(paper))
		if err != nil {
			s.t.Fatal(err)
		}
		if !bytes.HasPrefix(pdf, []byte("%PDF-")) || len(pdf) < 20_000 {
			s.t.Errorf("printed on %s: %d bytes beginning %.8q", paper, len(pdf), pdf)
		}
	}
}

// TestHostileNamesInABrowser checks that names are text: nothing of them runs.
func TestHostileNamesInABrowser(t *testing.T) {
	take := aPiece(t)
	all := strings.Join(hostile, " ")
	take.Asked, take.Pupil, take.Words = all, all, all
	named := *take.Reference
	named.Title = all
	named.Tempos = []references.TempoMark{{Words: all}}
	take.Reference = &named
	s := show(t, take, 800, 600)
	if title := value[string](s, `document.querySelector("h1").textContent`); title != all {
		t.Errorf("the heading is %q, want %q", title, all)
	}
	if n := value[int](s, `document.querySelectorAll("main script:not([type]), img[src=x]").length`); n > 0 {
		t.Errorf("%d elements came out of a name", n)
	}
	s.quiet()
}

// TestWithoutTheEngraver: the page says what is missing, and has the marks in words.
func TestWithoutTheEngraver(t *testing.T) {
	var b bytes.Buffer
	if err := WriteTake(&b, aScale(t), Engraver{}); err != nil {
		t.Fatal(err)
	}
	s := showFile(t, b.Bytes(), 800, 600)
	if said := value[string](s, `document.getElementById("waiting").innerText`); !strings.Contains(said, "make engraver") {
		t.Errorf("it says %q", said)
	}
	if !value[bool](s, `document.querySelector(".inwords").open && document.querySelectorAll(".inwords li").length > 5`) {
		t.Error("the marks are not there in words")
	}
	s.quiet()
}

// TestPDF prints a page as the command does, with a browser of its own.
func TestPDF(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	chromium(t)
	unconfined = true
	defer func() { unconfined = false }()
	var b bytes.Buffer
	if err := WriteTake(&b, aScale(t), Engraver{}); err != nil {
		t.Fatal(err)
	}
	pdf, err := PDF(t.Context(), b.Bytes(), Letter)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) || len(pdf) < 20_000 {
		t.Errorf("%d bytes beginning %.8q", len(pdf), pdf)
	}
	// ISO 32000: a page's size is its MediaBox, in points. Letter is 612 by 792 (8.5 by 11 inches).
	if !regexp.MustCompile(`/MediaBox \[0 0 61[12](\.\d+)? 79[12](\.\d+)?\]`).Match(pdf) {
		t.Error("it is not on letter paper")
	}
}

// BenchmarkOpening opens the page of a piece of three minutes in a fresh tab and tells when its music and marks
// were drawn, from the moment it was gone to.
func BenchmarkOpening(b *testing.B) {
	take := threeMinutes(b)
	var took []float64
	for b.Loop() {
		s := show(b, take, 1440, 900)
		took = append(took, value[float64](s, `+document.documentElement.dataset.ready`))
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "ms")
	b.ReportMetric(took[len(took)-1], "ms-most")
}

// TestPictures makes the pictures of docs/pictures, by "make pictures".
func TestPictures(t *testing.T) {
	folder := os.Getenv("EVENHAND_PICTURES")
	if folder == "" {
		return
	}
	for _, p := range []struct {
		name          string
		take          *Take
		width, height int64
		at            string
	}{
		{"take-scale", aScale(t), 1000, 1150, "body"},
		{"take-piece", aPiece(t), 1000, 760, "#music-head"},
		{"take-curves", aScale(t), 1000, 900, "#curves-head"},
	} {
		s := show(t, p.take, p.width, p.height)
		s.run(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.querySelector(%q).scrollIntoView(); scrollBy(0, -20)`, p.at)))
		png, err := chromedp.Run(s.ctx, chromedp.CaptureScreenshot())
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, p.name+".png"), png, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
