package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"

	tea "github.com/charmbracelet/bubbletea"

	"evenhand/cmd/evenhand/screen"
	"evenhand/exam"
)

const linesHelp = `An empty line goes on. A figure chooses an answer; other words are the answer.
  :restart  :end  :more  :skip  :leave out  :again [PART]  :once more  :how
  :words [PART] WORDS  :mark [PART] MARK  :right  :half  :wrong  :pause
  :sign NAME  :quit
`

// examLines is an exam without a page: it is told in lines, and acts are read as lines.
type examLines struct {
	mu   sync.Mutex
	out  io.Writer
	now  screen.Standing
	said string // the last of what is asked

	piano screen.Piano
}

// show writes what is new.
func (p *examLines) show(msg tea.Msg) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch msg := msg.(type) {
	case screen.Standing:
		p.now = msg
		if text := p.asked(); text != p.said {
			p.said = text
			fmt.Fprint(p.out, "\n"+text)
		}
	case screen.Piano:
		if msg.Said != "" && msg != p.piano {
			p.piano = msg
			fmt.Fprintf(p.out, "(%s)\n", plain(msg.Said))
		}
	case screen.Notice:
		fmt.Fprintf(p.out, "%s\n", msg.Said)
	case screen.Verdict:
		fmt.Fprintf(p.out, "\n%s\n", strings.Join(msg.Lines, "\n"))
	case screen.Looked:
		if msg.Left%10 == 0 {
			fmt.Fprintf(p.out, "%d seconds to look\n", msg.Left)
		}
	case screen.Over:
		fmt.Fprintln(p.out, "Thank you.")
	}
}

// asked is what is asked now, in lines.
func (p *examLines) asked() string {
	s, b := &p.now, &strings.Builder{}
	columns := columnsOf(p.out)
	switch {
	case s.Pause:
		return "A pause. An empty line goes on.\n"
	case s.Phase == exam.Ended:
		return strings.Join(s.Sheet, "\n") + "\n"
	}
	fmt.Fprintln(b, strings.TrimSpace(s.Section+"  "+s.Round))
	if s.Words != s.Section {
		wrap(b, columns, "  ", s.Words)
	}
	for i, c := range s.Choices {
		wrap(b, columns, fmt.Sprintf("  %d  ", i+1), c)
	}
	for _, m := range s.More {
		wrap(b, columns, "  ", m)
	}
	return b.String()
}

// read sends an act for each line until there are no more, which leaves the exam.
func (p *examLines) read(ctx context.Context, in io.Reader, acts chan<- screen.Act) {
	send := func(a screen.Act) {
		select {
		case acts <- a:
		case <-ctx.Done():
		}
	}
	for lines := bufio.NewScanner(in); lines.Scan(); {
		a, err := p.act(strings.TrimSpace(lines.Text()))
		if err != nil {
			p.show(screen.Notice{Said: plain(err.Error())})
			continue
		}
		send(a)
	}
	send(screen.Act{Kind: screen.Leave})
}

// act reads one line.
func (p *examLines) act(line string) (screen.Act, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	words, isAct := strings.CutPrefix(line, ":")
	switch {
	case line == "" && p.now.Pause:
		return screen.Act{Kind: screen.Pause}, nil
	case line == "" && p.now.Taps:
		return screen.Act{Kind: screen.Tap}, nil
	case line == "" && p.now.Phase == exam.Offered:
		return screen.Act{Kind: screen.AskPart, Part: max(0, p.now.Latest)}, nil
	case line == "":
		return screen.Act{Kind: screen.GoOn}, nil
	case !isAct:
		if n, err := strconv.Atoi(line); err == nil && n >= 1 && n <= len(p.now.Choices) {
			line = p.now.Choices[n-1]
		}
		return screen.Act{Kind: screen.Reply, Text: line}, nil
	}
	name, rest, _ := strings.Cut(strings.TrimSpace(words), " ")
	rest = strings.TrimSpace(rest)
	if kind, ok := plainActs[name]; ok {
		return screen.Act{Kind: kind}, nil
	}
	part := max(0, p.now.Latest)
	first, after, _ := strings.Cut(rest, " ")
	if n, err := strconv.Atoi(first); err == nil && n >= 1 && (name != "mark" || after != "") {
		part, rest = n-1, strings.TrimSpace(after)
	}
	switch name {
	case "again":
		return screen.Act{Kind: screen.AskPart, Part: part}, nil
	case "words":
		return screen.Act{Kind: screen.Say, Part: part, Text: rest}, nil
	case "mark":
		return screen.Act{Kind: screen.Mark, Part: part, Text: rest}, nil
	case "sign":
		return screen.Act{Kind: screen.Sign, Text: rest}, nil
	}
	return screen.Act{}, fmt.Errorf("there is no :%s here; an empty line goes on, :skip goes to the next part, :quit leaves", name)
}

// plainActs are those that are all said by their name.
var plainActs = map[string]screen.ActKind{
	"restart": screen.Afresh, "end": screen.Stop, "more": screen.Longer, "skip": screen.Skip, "leave": screen.Omit,
	"once": screen.Rehear, "how": screen.How, "right": screen.Right, "half": screen.Half, "wrong": screen.Wrong,
	"pause": screen.Pause, "quit": screen.Leave, "on": screen.Decline, "tap": screen.Tap,
}
