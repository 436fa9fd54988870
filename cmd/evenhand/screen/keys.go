package screen

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"

	"evenhand/cmd/evenhand/screen/ink"
)

// keyMap are the keys of the computer. The help line is made from it.
type keyMap struct {
	again, next, fingers, page, back, quit key.Binding
}

func newKeys() keyMap {
	bind := func(name, does string, keys ...string) key.Binding {
		return key.NewBinding(key.WithKeys(keys...), key.WithHelp(name, does))
	}
	return keyMap{
		again:   bind("space", "again", " "),
		next:    bind("n", "next", "n"),
		fingers: bind("f", "notes and fingers", "f"),
		page:    bind("tab", "turn the page", "tab", "right", "pgdown"),
		back:    bind("shift-tab", "back", "shift+tab", "left", "pgup"),
		quit:    bind("q", "end", "q", "ctrl+c"),
	}
}

// help draws the keys that do something now, and those of the piano where they are controls.
func (k keyMap) help(p *ink.Paper, y int, pages, piano bool) {
	shown := []key.Binding{k.again, k.next, k.fingers}
	if pages {
		shown = append(shown, k.page, k.back)
	}
	shown = append(shown, k.quit)
	x := 0
	for _, b := range shown {
		if x > 0 {
			x += 3
		}
		x = p.Write(x, y, ink.Plain, b.Help().Key+" ")
		x = p.Write(x, y, ink.Faint, b.Help().Desc)
	}
	if piano {
		text := "lowest key twice: again   highest twice: next"
		if x+3+len(text) > p.Width() {
			text = strings.ReplaceAll(text, " twice", " x2")
		}
		if x+3+len(text) > p.Width() {
			y--
			x = -3
		}
		p.Write(x+3, y, ink.Faint, text)
	}
}
