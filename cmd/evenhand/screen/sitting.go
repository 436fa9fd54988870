package screen

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/exam"
	"evenhand/references"
)

// Standing is where an exam is. The page shows it and nothing else.
type Standing struct {
	List, Pupil string
	Section     string // the heading of the section at hand
	Round       string // where in it: "2 of 5"
	Phase       exam.Phase
	Pause       bool
	Kind        exam.Kind // of the part at hand

	Words   string   // as the examiner says it
	More    []string // what else there is to know, a sentence each
	Choices []string // of an answer
	Taps    bool     // the pupil taps: space and every key of the piano count
	Sounds  bool     // something is being sounded
	Began   bool     // the pupil is playing

	Music *references.Reference // that is to be seen; nil where there is none

	Parts  []string // all parts up to the one at hand, by name
	Latest int      // that the teacher's words are likely to be about; -1 before there is one
	Sheet  []string // at the end, in lines
}

// Looked is how many seconds there still are to look at music.
type Looked struct{ Left int }

// Verdict is how the last part went, in lines. It is shown because somebody asked.
type Verdict struct{ Lines []string }

// Act is what the pupil or the teacher does at the keyboard of the computer.
type Act struct {
	Kind ActKind
	Part int    // of Ask, Say and Mark
	Text string // an answer, the teacher's words, a mark, a name
}

// ActKind is one thing that can be done.
type ActKind int8

// The acts.
const (
	GoOn    ActKind = iota // who was waited for is ready
	Afresh                 // the pupil begins again
	AskPart                // a part is asked once more
	Decline                // an offer to ask again
	Stop                   // listening ends here
	Longer                 // listening goes on through silences
	Skip                   // the part at hand
	Omit                   // what is left of the section
	Say                    // the teacher's words
	Mark                   // the teacher's mark; no text takes it back
	Pause                  // and its end
	Reply                  // an answer
	Right                  // the teacher: the spoken answer was right
	Half                   // half right
	Wrong                  // wrong
	Tap                    // the beat
	Rehear                 // the ear test once more
	How                    // how did it go?
	Sign                   // the sheet, with a name
	Leave                  // the room
)

// SittingOptions are those of a Sitting.
type SittingOptions struct {
	Signs *ink.Signs
	// Do is called with each act, from a command.
	Do func(Act)
}

// Sitting is the page of an exam: a pure function of what it is told.
type Sitting struct {
	board
	options SittingOptions
	keys    sittingKeys

	now     Standing
	began   bool // the pupil plays
	over    bool // and has ended
	left    int  // seconds to look
	verdict []string
	scroll  int

	asking ActKind // what a line is typed for; GoOn for nothing
	line   []rune
	target int // the part that it is about
}

// NewSitting is a page on which nothing is asked yet.
func NewSitting(o SittingOptions) Sitting {
	return Sitting{board: newBoard(o.Signs), options: o, keys: newSittingKeys()}
}

// Update implements tea.Model.
func (m Sitting) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	if m.hear(msg) {
		return m, nil
	}
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.width, m.height = msg.Width, msg.Height
		m.lay()
	case tea.KeyMsg:
		return m.pressed(msg)
	case Standing:
		m.stand(msg)
	case Verdict:
		m.verdict, m.scroll = msg.Lines, 0
	case Looked:
		m.left = msg.Left
	case Began:
		m.began, m.notice, m.at = true, "", 0
	case Struck:
		m.reach(msg.Event)
	case Waiting:
		m.began, m.touched = false, nil
	case Over:
		m.over = true
	}
	return m, nil
}

// stand takes where the exam is now. What is being typed goes on.
func (m *Sitting) stand(s Standing) {
	asked := m.now.Words != s.Words || m.now.Phase != s.Phase || m.now.Round != s.Round || m.now.Section != s.Section
	music := m.now.Music != s.Music
	m.now, m.touched, m.began, m.over = s, nil, s.Began, false
	if asked {
		m.notice, m.verdict, m.scroll, m.at = "", nil, 0, 0
	}
	if m.asking == GoOn {
		m.target = max(0, s.Latest)
	}
	if music {
		m.sheet = nil
		if s.Music != nil {
			w := write(s.Music, 0, 0, nil, nil)
			m.sheet = &sheet{written: w, signs: m.signs, coming: true}
		}
	}
	m.lay()
}

// reach turns to the line of the music that is being played.
func (m *Sitting) reach(event int) {
	if m.sheet != nil && event >= 0 && event < len(m.sheet.event) {
		m.at = m.sheet.event[event]
	}
}

func (m *Sitting) lay() {
	if m.sheet == nil {
		return
	}
	rows := m.height - sittingTop - sittingFoot - len(m.now.Choices)
	for _, line := range m.now.More {
		rows -= len(fold(line, m.width-3))
	}
	m.pieces = m.cut(max(6+m.sheet.headRows(), rows))
}

// pressed takes a key: for the line being typed, or for what it means on this page.
func (m Sitting) pressed(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	if m.asking != GoOn {
		return m.types(msg)
	}
	if n := choiceOf(msg); n >= 0 && n < len(m.now.Choices) && m.now.Phase == exam.Answering {
		return m, m.does(Act{Kind: Reply, Text: m.now.Choices[n]})
	}
	for _, b := range m.keys.on(&m) {
		if !key.Matches(msg, b.Binding) {
			continue
		}
		switch b.act {
		case Say, Mark, Reply, Sign, AskPart:
			if b.act == AskPart && m.now.Phase == exam.Offered {
				return m, m.does(Act{Kind: AskPart, Part: m.now.Latest})
			}
			m.asking, m.line, m.notice = b.act, nil, ""
			m.target = max(0, m.now.Latest)
			return m, nil
		case Leave:
			return m, tea.Sequence(m.does(Act{Kind: Leave}), tea.Quit)
		case How:
			if m.verdict != nil {
				m.verdict = nil
				return m, nil
			}
		}
		return m, m.does(Act{Kind: b.act})
	}
	switch msg.String() {
	case "up", "pgup":
		m.scroll = max(0, m.scroll-m.leap(msg))
	case "down", "pgdown":
		m.scroll = max(0, min(m.scroll+m.leap(msg), len(m.lines())-m.roomForLines()))
	}
	return m, nil
}

func (m *Sitting) leap(msg tea.KeyMsg) int {
	if strings.HasPrefix(msg.String(), "pg") {
		return max(1, m.roomForLines()-1)
	}
	return 1
}

func (m *Sitting) does(a Act) tea.Cmd {
	do := m.options.Do
	return func() tea.Msg { do(a); return nil }
}

// choiceOf is the choice that a figure stands for, from 0; -1 of any other key.
func choiceOf(msg tea.KeyMsg) int {
	if s := msg.String(); len(s) == 1 && s[0] >= '1' && s[0] <= '9' {
		return int(s[0] - '1')
	}
	return -1
}

// types takes a key for the line being typed.
func (m Sitting) types(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	switch msg.Type {
	case tea.KeyEsc, tea.KeyCtrlC:
		m.asking = GoOn
	case tea.KeyEnter:
		a := Act{Kind: m.asking, Part: m.target, Text: strings.TrimSpace(string(m.line))}
		m.asking = GoOn
		return m, m.does(a)
	case tea.KeyBackspace:
		m.line = m.line[:max(0, len(m.line)-1)]
	case tea.KeyUp:
		m.target = max(0, m.target-1)
	case tea.KeyDown:
		m.target = max(0, min(m.target+1, len(m.now.Parts)-1))
	case tea.KeyRunes, tea.KeySpace:
		if len(m.line)+len(msg.Runes) <= longestLine {
			m.line = append(m.line[:len(m.line):len(m.line)], msg.Runes...)
		}
	}
	return m, nil
}

// longestLine is how many characters of the teacher's words are taken at once.
const longestLine = 400

// heard reports whether a note struck on the piano is shown: never one while the exam listens for more
// than trying the keys.
func (m *Sitting) heard() bool { return len(m.touched) > 0 && !m.began }
