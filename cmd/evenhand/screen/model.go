package screen

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/references"
	"evenhand/scoring"
)

// page is what the screen shows.
type page int8

const (
	asking page = iota
	playing
	telling
)

// Options of a Model.
type Options struct {
	Signs *ink.Signs
	// Control is called with what was asked for at the keyboard of the computer, from a command.
	Control func(Control)
}

// restWords is all that is said of it: how long is too long differs from hand to hand.
const restWords = "You have played for 25 minutes: a short rest is good for the hands."

// Model is the screen, as bubbletea has it.
type Model struct {
	board
	options Options
	keys    keyMap

	page    page
	asked   Asked
	fingers bool
	marking bool
	beat    Beat // the last one counted
	take    take // being played

	told  Told
	leaf  int // page of the verdict
	part  int // of its music, where that is long
	tries []*scoring.Assessment
}

// take is what is known of a take while it is played.
type take struct {
	notes   []capture.Note
	pairs   []align.Pair // by played note
	missing []align.Pair
	reading int
	shift   int
}

// New returns a screen that asks for nothing yet.
func New(o Options) Model {
	return Model{board: newBoard(o.Signs), options: o, keys: newKeys()}
}

// Update implements tea.Model.
func (m Model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	if m.hear(msg) {
		return m, nil
	}
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.width, m.height = msg.Width, msg.Height
		m.lay()
	case tea.KeyMsg:
		return m.pressed(msg)
	case Asked:
		m.ask(msg)
	case Rest:
		m.notice = restWords
	case Began:
		m.page, m.take, m.at, m.touched, m.marking = playing, take{}, 0, nil, false
		m.rewrite()
	case Struck:
		m.strike(msg)
	case Beat:
		m.beat = msg
	case Waiting:
		m.wait()
	case Over:
		m.marking = true
	case Told:
		m.tell(msg)
	}
	return m, nil
}

func (m Model) pressed(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	control := func(c Control) tea.Cmd {
		return func() tea.Msg { m.options.Control(c); return nil }
	}
	switch {
	case key.Matches(msg, m.keys.quit):
		return m, tea.Sequence(control(End), tea.Quit)
	case key.Matches(msg, m.keys.again):
		return m, control(Again)
	case key.Matches(msg, m.keys.next):
		return m, control(Next)
	case key.Matches(msg, m.keys.fingers):
		m.fingers = !m.fingers
		m.lay()
	case key.Matches(msg, m.keys.page):
		m.turn(1)
	case key.Matches(msg, m.keys.back):
		m.turn(-1)
	}
	return m, nil
}

// ask opens the page for a request. The tries of the one before are forgotten, if it is another.
func (m *Model) ask(a Asked) {
	if a.Words != m.asked.Words {
		m.tries = nil
	}
	m.asked, m.page, m.touched, m.notice, m.marking = a, asking, nil, "", false
	m.take, m.at, m.told = take{}, 0, Told{}
	m.rewrite()
}

// wait goes back to the page before a take that was only tried.
func (m *Model) wait() {
	m.touched, m.take, m.at = nil, take{}, 0
	m.page = asking
	if m.told.Assessment != nil {
		m.page = telling
		m.showTold()
		return
	}
	m.rewrite()
}

// strike takes a note and what is thought of the notes so far.
func (m *Model) strike(s Struck) {
	t := &m.take
	if s.Reading != t.reading || s.Shift != t.shift {
		t.missing = nil
	}
	t.reading, t.shift = s.Reading, s.Shift
	t.notes = append(t.notes, s.Note)
	t.pairs = append(t.pairs, align.Pair{Expected: -1, Played: s.Index, Near: -1, Verdict: align.Extra, Why: align.Again})
	for _, u := range s.Updates {
		switch {
		case u.Played >= 0 && u.Played < len(t.pairs):
			t.pairs[u.Played] = u.Pair
		case u.Verdict == align.Missing:
			t.missing = append(t.missing, u.Pair)
		}
	}
	m.rewrite()
	m.at = m.sheet.event[min(max(0, s.Event), len(m.sheet.event)-1)]
}

// rewrite writes the take that is being played out anew.
func (m *Model) rewrite() {
	if len(m.asked.Candidates) == 0 {
		return
	}
	t := &m.take
	ref := m.asked.Candidates[t.reading]
	// What was called missing and has come since stands after it, and takes its place.
	pairs := append(append([]align.Pair(nil), t.missing...), t.pairs...)
	w := write(ref, t.shift, t.shift, pairs, t.notes)
	if n := len(pairs) - 1; n >= 0 && w.instead(&pairs[n]) {
		w = write(ref, t.shift, t.shift, pairs, t.notes)
	}
	pace := traceOf(w, references.NoHand)
	for e := range w.events() {
		w.stops[e] = pace.stopped(w, e)
	}
	m.sheet = &sheet{written: w, signs: m.signs}
	m.lay()
}

// tell shows the verdict. Where there is none, because the take could not be kept, it says why.
func (m *Model) tell(t Told) {
	m.told, m.marking, m.page, m.leaf, m.part = t, false, telling, 0, 0
	if t.Assessment == nil || t.Alignment == nil {
		return
	}
	m.tries = append(m.tries[:len(m.tries):len(m.tries)], t.Assessment)
	m.showTold()
}

// showTold writes the finished take out.
func (m *Model) showTold() {
	a := m.told.Alignment
	w := write(a.Reference, a.RightShift, a.LeftShift, a.Pairs, a.Take.Notes)
	for _, h := range m.told.Assessment.Flow.Hesitations {
		for e := range w.events() {
			if w.ref.Notes[w.first[e]].Onset.Float() == h.Onset {
				w.stops[e] = true
			}
		}
	}
	m.sheet = &sheet{written: w, signs: m.signs}
	m.lay()
}

// lay cuts the sheet for the page it is shown on.
func (m *Model) lay() {
	if m.sheet == nil {
		return
	}
	s := *m.sheet
	s.fingers = m.fingers
	s.coming = m.fingers && m.page != telling
	m.sheet = &s
	m.pieces = m.cut(m.sheetRows())
	m.part = min(m.part, len(m.pieces)-1)
}

// piece is the system that event e stands in.
func (m *Model) piece(e int) *system { return systemOf(m.pieces, e) }

// View implements tea.Model.
func (m Model) View() string {
	return m.view(func(p *ink.Paper) {
		switch m.page {
		case asking:
			m.drawAsking(p)
		case playing:
			m.drawPlaying(p)
		case telling:
			m.drawTelling(p)
		}
		m.foot(p)
	})
}

// foot is the last row: the keys, or what has to be said now.
func (m *Model) foot(p *ink.Paper) {
	y := p.Height() - 1
	switch {
	case m.notice != "":
		p.Write(0, y, ink.Strong, m.signs.Text(m.notice))
	default:
		m.keys.help(p, m.page == telling, m.asked.Round != "", m.page != playing)
	}
}

// top writes the first row: what is asked, short, and the piano where something is amiss with it.
func (m *Model) top(p *ink.Paper) {
	s := m.signs
	p.Write(0, 0, ink.Strong, s.Text(m.asked.Words))
	if said := m.piano.Said; !m.piano.There && said != "" {
		p.Write(0, 1, ink.Pencil, s.Text(said))
	}
	if r := m.asked.Round; r != "" {
		p.Write(p.Width()-len(r), 0, ink.Faint, r)
	}
}
