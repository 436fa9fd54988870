package screen

import (
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
		fingers: bind("f", "fingers", "f"),
		page:    bind("tab", "turn over", "tab", "right", "pgdown"),
		back:    bind("shift-tab", "turn back", "shift+tab", "left", "pgup"),
		quit:    bind("q", "end", "q", "ctrl+c"),
	}
}

// help draws the keys that do something on this page, and in the row above those of the piano that are
// controls there.
func (k keyMap) help(p *ink.Paper, pages, next, piano bool) {
	y := p.Height() - 1
	shown := []key.Binding{k.again}
	controls := "on the piano: lowest key twice, again"
	if next {
		shown = append(shown, k.next)
		controls += "; highest key twice, next"
	}
	shown = append(shown, k.fingers)
	if pages {
		shown = append(shown, k.page, k.back)
	}
	shown = append(shown, k.quit)
	x := 0
	for _, b := range shown {
		x = p.Write(x, y, ink.Plain, b.Help().Key+" ")
		x = p.Write(x, y, ink.Faint, b.Help().Desc) + 3
	}
	if piano {
		p.Write(0, y-1, ink.Faint, controls)
	}
}
