package screen

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"

	"evenhand/cmd/evenhand/screen/ink"
)

var sgr = regexp.MustCompile(`\x1b\[([0-9;]*)m`)

// inks are the attributes (ECMA-48, SGR) that a page may have: none, bold, faint, and one colour of the
// eight that every terminal has in a shade for its own background. No white, black or grey, which vanish
// on one background or the other, and no background of our own.
var inks = map[string]bool{"": true, "0": true, "1": true, "2": true, "1;35": true, "35": true}

// On terminals of every kind, light or dark, a page has the same characters in the same places, and no
// attribute that could not be read on it.
func TestPagesOnEveryTerminal(t *testing.T) {
	before, dark := lipgloss.ColorProfile(), lipgloss.HasDarkBackground()
	t.Cleanup(func() {
		lipgloss.SetColorProfile(before)
		lipgloss.SetHasDarkBackground(dark)
	})
	r := newRoom(t, 80, 24, &ink.Unicode, usualWords)
	messages := faulty(t, usualWords, 20, 30)
	views := map[string]func(){
		"asking":  func() {},
		"playing": func() { r.plays(messages[:len(messages)/2]) },
		"telling": func() {
			r.plays(since(messages[len(messages)/2:], messages[len(messages)/2-1].At))
			r.waits(3 * time.Second)
		},
		"marked": func() { r.types("tab") },
	}
	for _, name := range []string{"asking", "playing", "telling", "marked"} {
		views[name]()
		lipgloss.SetColorProfile(termenv.Ascii)
		plain := r.model.View()
		if strings.ContainsRune(plain, '\x1b') {
			t.Errorf("%s: a terminal without colours is sent escape sequences", name)
		}
		for _, profile := range []termenv.Profile{termenv.ANSI, termenv.ANSI256, termenv.TrueColor} {
			lipgloss.SetColorProfile(profile)
			lipgloss.SetHasDarkBackground(true)
			view := r.model.View()
			if ansi.Strip(view) != plain {
				t.Errorf("%s, %s: other characters than without colours", name, profile.Name())
			}
			for _, m := range sgr.FindAllStringSubmatch(view, -1) {
				if !inks[m[1]] {
					t.Errorf("%s, %s: attribute %q", name, profile.Name(), m[1])
				}
			}
			if !strings.Contains(view, "\x1b[") {
				t.Errorf("%s, %s: no ink at all", name, profile.Name())
			}
			lipgloss.SetHasDarkBackground(false)
			if r.model.View() != view {
				t.Errorf("%s, %s: a light background is drawn otherwise", name, profile.Name())
			}
		}
	}
}

// What a mark says is written, and not in faint ink: a ring round a wrong note, its right name, a caret
// before one left out.
func TestMarksNeedNoColour(t *testing.T) {
	before := lipgloss.ColorProfile()
	t.Cleanup(func() { lipgloss.SetColorProfile(before) })
	r := newRoom(t, 80, 24, &ink.Unicode, usualWords)
	messages := faulty(t, usualWords, 20, 30)
	r.plays(messages[:len(messages)*2/3])
	lipgloss.SetColorProfile(termenv.Ascii)
	r.sees("(G♯)")
	lipgloss.SetColorProfile(termenv.ANSI)
	view := r.model.View()
	i := strings.Index(view, "(G♯)")
	if i < 0 {
		t.Fatal("the ring is broken by an attribute")
	}
	last := sgr.FindAllStringSubmatch(view[:i], -1)
	if got := last[len(last)-1][1]; got != "1;35" {
		t.Errorf("the ring has the attribute %q, want bold in the pencil's colour", got)
	}
}
