package screen

import (
	"bytes"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/teatest"

	"evenhand/capture"
	"evenhand/cmd/evenhand/screen/ink"
)

// The model within the terminal library's own program: messages and keys come in, pages go out, and q
// ends it.
func TestWithinAProgram(t *testing.T) {
	r := usual(t, usualWords)
	controls := make(chan Control, 4)
	tm := teatest.NewTestModel(t, New(Options{Signs: &ink.Unicode, Control: func(c Control) { controls <- c }}), teatest.WithInitialTermSize(120, 40))
	shows := func(words string) {
		t.Helper()
		teatest.WaitFor(t, tm.Output(), func(out []byte) bool { return bytes.Contains(out, []byte(words)) }, teatest.WithDuration(time.Minute))
	}
	lesson := NewLesson(r, Keyboard{21, 108}, tm.Send)
	lesson.Connected(Piano{There: true, Said: "listening to Toy piano"}, 0)
	shows("Play when you are ready.")
	lesson.Take(capture.Message{At: time.Second, Status: 0x90, Data1: 62, Data2: 70})
	shows("loud")
	tm.Send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("q")})
	tm.WaitFinished(t, teatest.WithFinalTimeout(time.Minute))
	if c := <-controls; c != End {
		t.Errorf("q asked for %v, want the end", c)
	}
}
