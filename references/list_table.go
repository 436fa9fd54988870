package references

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// ListFault is one thing that is wrong in a list.
type ListFault struct {
	Line int // from 1
	Text string
}

// Error gives the line and what is wrong with it.
func (f ListFault) Error() string { return fmt.Sprintf("line %d: %s", f.Line, f.Text) }

// ListFaults are all things that are wrong in a list, in the order of its lines.
type ListFaults []ListFault

// Error is the first of them, and how many more there are.
func (fs ListFaults) Error() string {
	if len(fs) == 1 {
		return fs[0].Error()
	}
	return fmt.Sprintf("%s (and %d more)", fs[0].Error(), len(fs)-1)
}

// listReader gathers the faults of one list. Places are paths like "part[1].ask[0].keys[2]".
type listReader struct {
	lines  map[string]int
	faults ListFaults
}

// fault notes what is wrong at a path, or at the nearest thing above it that has a line.
func (r *listReader) fault(path, format string, args ...any) {
	line := 0
	for at := path; ; {
		if line = max(r.lines[at], r.lines[at+"[0]"]); line > 0 {
			break
		}
		cut := strings.LastIndexAny(at, ".[")
		if cut < 0 {
			line = 1
			break
		}
		at = at[:cut]
	}
	if f := (ListFault{line, fmt.Sprintf(format, args...)}); !slices.Contains(r.faults, f) {
		r.faults = append(r.faults, f)
	}
}

// table is one table of the text. What is asked of it is known; done finds what is not.
type table struct {
	*listReader
	path, name string // name is for people: "a part of studies"
	values     map[string]any
	known      []string
}

// openTable reads TOML 1.0 (toml.io) into a table. The error is a ListFaults of one.
func openTable(text []byte) (*table, error) {
	t := &table{listReader: &listReader{lines: map[string]int{}}, name: "a list"}
	if err := toml.Unmarshal(text, &t.values); err != nil {
		fault := ListFault{1, strings.TrimPrefix(err.Error(), "toml: ")}
		if at := new(toml.DecodeError); errors.As(err, &at) {
			fault.Line, _ = at.Position()
		}
		fault.Text = "this is no TOML: " + strings.Join(strings.Fields(fault.Text), " ")
		return nil, ListFaults{fault}
	}
	t.findLines(text)
	return t, nil
}

// findLines notes the line of every table, key and element.
func (r *listReader) findLines(text []byte) {
	var p unstable.Parser
	p.Reset(text)
	counts := map[string]int{}
	top := ""
	for p.NextExpression() {
		e := p.Expression()
		switch e.Kind {
		case unstable.KeyValue:
			r.lineOf(&p, top, e)
		case unstable.Table, unstable.ArrayTable:
			keys, line := keysOf(&p, e)
			top = ""
			for i, k := range keys {
				top = below(top, k)
				n, many := counts[top]
				last := i == len(keys)-1
				if last && e.Kind == unstable.ArrayTable {
					counts[top] = n + 1
					top += fmt.Sprintf("[%d]", n)
				} else if many {
					top += fmt.Sprintf("[%d]", n-1)
				}
			}
			r.lines[top] = line
		}
	}
}

func (r *listReader) lineOf(p *unstable.Parser, top string, e *unstable.Node) {
	keys, line := keysOf(p, e)
	for _, k := range keys {
		top = below(top, k)
	}
	r.lines[top] = line
	r.linesIn(p, top, e.Value())
}

// linesIn notes the lines of what is inside a value.
func (r *listReader) linesIn(p *unstable.Parser, path string, v *unstable.Node) {
	i := 0
	for it := v.Children(); it.Next(); {
		child := it.Node()
		switch {
		case child.Kind == unstable.KeyValue:
			r.lineOf(p, path, child)
		case child.Kind != unstable.Comment:
			element := fmt.Sprintf("%s[%d]", path, i)
			if child.Raw.Length > 0 {
				r.lines[element] = p.Shape(child.Raw).Start.Line
			}
			r.linesIn(p, element, child)
			i++
		}
	}
}

func keysOf(p *unstable.Parser, e *unstable.Node) (keys []string, line int) {
	for it := e.Key(); it.Next(); {
		keys = append(keys, string(it.Node().Data))
		line = p.Shape(it.Node().Raw).Start.Line
	}
	return keys, line
}

func below(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func (t *table) at(key string) string { return below(t.path, key) }

// value is what a key has, nil where it is not there. From then on the key is known.
func (t *table) value(key string) any {
	t.known = append(t.known, key)
	return t.values[key]
}

func (t *table) has(key string) bool { return t.values[key] != nil }

// text is a text, "" where there is none.
func (t *table) text(key string) string {
	v := t.value(key)
	s, ok := v.(string)
	if v != nil && !ok {
		t.fault(t.at(key), "%s has to be a text in quotes", key)
	}
	return strings.TrimSpace(s)
}

// needed is a text that has to be there.
func (t *table) needed(key, example string) string {
	if s := t.text(key); s != "" {
		return s
	}
	if _, text := t.values[key].(string); text || !t.has(key) {
		t.fault(t.at(key), "%s needs %s, as in %s = %q", t.name, key, key, example)
	}
	return ""
}

// number is a number from least to most, usual where there is none.
func (t *table) number(key string, least, most, usual float64) float64 {
	var x float64
	switch v := t.value(key).(type) {
	case nil:
		return usual
	case int64:
		x = float64(v)
	case float64:
		x = v
	default:
		t.fault(t.at(key), "%s has to be a number, without quotes", key)
		return usual
	}
	if !(x >= least && x <= most) {
		t.fault(t.at(key), "%s is %g: give it a number from %g to %g", key, x, least, most)
		return usual
	}
	return x
}

// whole is a whole number from least to most, usual where there is none.
func (t *table) whole(key string, least, most, usual int) int {
	x := t.number(key, float64(least), float64(most), float64(usual))
	if x != float64(int(x)) {
		t.fault(t.at(key), "%s is %g: give it a whole number", key, x)
	}
	return int(x)
}

// texts is one text or several; nil where there are none, empty where there is an empty array.
func (t *table) texts(key string) []string {
	wrong := func(path string) { t.fault(path, "%s has to be a text in quotes, or several between [ and ]", key) }
	switch v := t.value(key).(type) {
	case nil:
	case string:
		return []string{v}
	case []any:
		out := make([]string, len(v))
		for i := range v {
			s, ok := v[i].(string)
			if out[i] = s; !ok {
				wrong(fmt.Sprintf("%s[%d]", t.at(key), i))
			}
		}
		return out
	default:
		wrong(t.at(key))
	}
	return nil
}

// tables are the tables of a key, each headed by its name in double brackets.
func (t *table) tables(key, name string) []*table {
	rows, ok := t.value(key).([]any)
	if t.has(key) && !ok {
		t.fault(t.at(key), "%s has to be written under headings [[%s]]", key, t.heading(key))
	}
	var out []*table
	for i, row := range rows {
		path := fmt.Sprintf("%s[%d]", t.at(key), i)
		values, ok := row.(map[string]any)
		if !ok {
			t.fault(path, "%s has to be written under headings [[%s]]", key, t.heading(key))
			continue
		}
		out = append(out, &table{t.listReader, path, name, values, nil})
	}
	return out
}

// table is the one table of a key, an empty one where there is none.
func (t *table) table(key, name string) *table {
	v := t.value(key)
	values, ok := v.(map[string]any)
	if v != nil && !ok {
		t.fault(t.at(key), "%s has to be written under a heading [%s]", key, t.heading(key))
	}
	return &table{t.listReader, t.at(key), name, values, nil}
}

// heading is the path of a key without the numbers.
func (t *table) heading(key string) string {
	var b strings.Builder
	for _, c := range t.at(key) {
		if !strings.ContainsRune("[]0123456789", c) {
			b.WriteRune(c)
		}
	}
	return b.String()
}

// one is one of several words, usual where there is none.
func (t *table) one(key string, words []string, usual string) string {
	s := t.text(key)
	if s == "" {
		return usual
	}
	if w, ok := t.word(t.at(key), key, s, words); ok {
		return w
	}
	return usual
}

// some are words out of those there are, without the unknown ones; usual where none are given.
func (t *table) some(key string, words, usual []string) []string {
	given := t.texts(key)
	if given == nil {
		return usual
	}
	out := []string{}
	for i, s := range given {
		if w, ok := t.word(fmt.Sprintf("%s[%d]", t.at(key), i), key, s, words); ok {
			out = append(out, w)
		}
	}
	return out
}

func (t *table) word(path, key, s string, words []string) (string, bool) {
	if i := slices.IndexFunc(words, func(w string) bool { return strings.EqualFold(w, strings.TrimSpace(s)) }); i >= 0 {
		return words[i], true
	}
	t.fault(path, "%q is not known for %s: did you mean %s?", s, key, quoted(Nearest(strings.ToLower(s), words, 2)))
	return "", false
}

// done finds the keys that nothing has asked for.
func (t *table) done() {
	for _, key := range slices.Sorted(maps.Keys(t.values)) {
		if !slices.Contains(t.known, key) {
			t.fault(t.at(key), "%q is not known in %s: did you mean %s?", key, t.name, quoted(Nearest(key, t.known, 2)))
		}
	}
}
