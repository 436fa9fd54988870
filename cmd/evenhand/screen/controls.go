package screen

import (
	"time"

	"evenhand/capture"
)

// Keyboard is the lowest and the highest key of a piano, by MIDI number.
type Keyboard struct{ Low, High uint8 }

// twice is how soon a key has to be struck again to be a control. Chosen by us.
const twice = 800 * time.Millisecond

// controls keeps back the lowest and the highest key until it is plain whether they are struck twice.
// What is a control is given out to nobody.
type controls struct {
	keyboard Keyboard
	held     []capture.Message
	key      uint8
	swallow  bool // the release of the second stroke is still to come
}

// take passes a message on, with those held back before it, unless it is or may be part of a control.
// used says whether a key is one the player is asked to play.
func (c *controls) take(m capture.Message, used func(key uint8) bool) ([]capture.Message, Control) {
	down := isStrike(m)
	switch {
	case c.swallow && !down && m.Data1 == c.key:
		c.swallow = false
		return nil, NoControl
	case len(c.held) == 0 && (!down || !c.is(m.Data1) || used(m.Data1)):
		return []capture.Message{m}, NoControl
	case len(c.held) == 0:
		c.held, c.key = append(c.held, m), m.Data1
		return nil, NoControl
	case !down:
		c.held = append(c.held, m)
		return nil, NoControl
	case m.Data1 == c.key && m.At-c.held[0].At <= twice:
		c.held, c.swallow = nil, true
		if c.key == c.keyboard.Low {
			return nil, Again
		}
		return nil, Next
	}
	out := append(c.release(), m)
	return out, NoControl
}

// Waiter hears the controls struck on the keyboard of a piano while nothing is followed.
type Waiter struct{ controls controls }

// NewWaiter waits at a piano with this keyboard.
func NewWaiter(k Keyboard) *Waiter { return &Waiter{controls{keyboard: k}} }

// Take is told every message of the piano, in order. It returns what is no control, and what was struck
// of controls.
func (w *Waiter) Take(m capture.Message) ([]capture.Message, Control) {
	return w.controls.take(m, func(uint8) bool { return false })
}

// silent gives out what was held back too long to be a control.
func (c *controls) silent(now time.Duration) []capture.Message {
	if len(c.held) > 0 && now-c.held[0].At > twice {
		return c.release()
	}
	return nil
}

func (c *controls) release() []capture.Message {
	out := c.held
	c.held = nil
	return out
}

func (c *controls) is(key uint8) bool { return key == c.keyboard.Low || key == c.keyboard.High }

// isStrike reports whether a message is that of a key going down.
func isStrike(m capture.Message) bool {
	return m.Status&0xF0 == 0x90 && m.Data2 > 0 && m.Status&0x0F != capture.Percussion
}

// plainName names a key where nothing says how to spell it.
func plainName(k uint8) string {
	names := [...]string{"C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"}
	return names[k%12]
}
