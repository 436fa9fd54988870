package screen

import (
	"github.com/charmbracelet/bubbles/key"

	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/exam"
)

// binding is a key of the computer and what it does in an exam.
type binding struct {
	key.Binding
	act ActKind
}

// sittingKeys are all keys of an exam.
type sittingKeys struct {
	ready, goOn, once, afresh, again, decline, stop, longer, skip, omit, say, mark, pause, back, typed, right, half, wrong, tap, rehear, how, sign, leave binding
}

func newSittingKeys() sittingKeys {
	bind := func(act ActKind, name, does string, keys ...string) binding {
		return binding{key.NewBinding(key.WithKeys(keys...), key.WithHelp(name, does)), act}
	}
	return sittingKeys{
		ready:   bind(GoOn, "space", "ready", " ", "enter"),
		goOn:    bind(GoOn, "space", "go on", " ", "enter"),
		once:    bind(AskPart, "space", "ask again", " ", "enter"),
		afresh:  bind(Afresh, "r", "restart", "r"),
		again:   bind(AskPart, "a", "ask again", "a"),
		decline: bind(Decline, "g", "go on", "g"),
		stop:    bind(Stop, "e", "end listening", "e"),
		longer:  bind(Longer, "x", "more time", "x"),
		skip:    bind(Skip, "s", "skip", "s"),
		omit:    bind(Omit, "l", "leave out section", "l"),
		say:     bind(Say, "w", "words", "w"),
		mark:    bind(Mark, "m", "mark", "m"),
		pause:   bind(Pause, "p", "pause", "p"),
		back:    bind(Pause, "space", "go on", " ", "enter", "p"),
		typed:   bind(Reply, "t", "type answer", "t"),
		right:   bind(Right, "y", "right", "y"),
		half:    bind(Half, "h", "half", "h"),
		wrong:   bind(Wrong, "n", "wrong", "n"),
		tap:     bind(Tap, "space", "tap", " "),
		rehear:  bind(Rehear, "o", "once more", "o"),
		how:     bind(How, "v", "how was it?", "v"),
		sign:    bind(Sign, "g", "sign", "g"),
		leave:   bind(Leave, "q", "leave", "q", "ctrl+c"),
	}
}

// on are the keys that do something on a page, the most needed first.
func (k *sittingKeys) on(m *Sitting) []binding {
	var all []binding
	if m.now.Pause {
		return []binding{k.back, k.say, k.mark, k.leave}
	}
	switch m.now.Phase {
	case exam.Before:
		all = append(all, k.ready, k.omit)
	case exam.Looking:
		all = append(all, k.ready, k.skip)
	case exam.Playing:
		all = append(all, k.afresh, k.stop, k.longer, k.skip)
	case exam.Answering:
		all = append(all, m.answers()...)
	case exam.Offered:
		all = append(all, k.once, k.decline)
	case exam.Alone:
		all = append(all, k.goOn)
	case exam.Ended:
		return []binding{k.say, k.mark, k.sign, k.again, k.leave}
	}
	if m.now.Latest >= 0 {
		if m.now.Phase != exam.Offered {
			all = append(all, k.again)
		}
		all = append(all, k.how)
	}
	all = append(all, k.say, k.mark)
	if m.now.Phase != exam.Before {
		all = append(all, k.omit)
	}
	return append(all, k.pause, k.leave)
}

// answers are the keys for a question or an ear test.
func (m *Sitting) answers() []binding {
	k := &m.keys
	switch {
	case m.now.Taps:
		return []binding{k.tap, k.stop, k.rehear, k.skip}
	case m.now.Kind == exam.Ear && len(m.now.Choices) == 0:
		return []binding{k.rehear, k.stop, k.skip}
	case m.now.Kind == exam.Ear:
		return []binding{k.typed, k.right, k.half, k.wrong, k.rehear, k.skip}
	}
	return []binding{k.typed, k.right, k.wrong, k.skip}
}

// help draws the keys of the page in the last rows and returns how many it took.
func (m *Sitting) help(p *ink.Paper) int {
	bindings := m.keys.on(m)
	width := func(b binding) int { return len([]rune(b.Help().Key)) + 1 + len([]rune(b.Help().Desc)) + 3 }
	rows := [][]binding{nil}
	x := 0
	for _, b := range bindings {
		if w := width(b); x+w-3 > p.Width() {
			rows, x = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], b)
		x += width(b)
	}
	for i, row := range rows {
		x, y := 0, p.Height()-len(rows)+i
		for _, b := range row {
			x = p.Write(x, y, ink.Plain, b.Help().Key+" ")
			x = p.Write(x, y, ink.Faint, b.Help().Desc) + 3
		}
	}
	return len(rows)
}
