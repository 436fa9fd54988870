package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/exam"
	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/repertoire"
)

// paperOptions say which paper is drawn.
type paperOptions struct {
	list      string
	level     string
	seed      uint64
	without   []string
	pieces    []string
	studies   []string
	favourite string
	scores    []string
}

// addPaper adds the options of a paper.
func addPaper(c *cobra.Command, o *paperOptions) {
	addList(c, &o.list)
	c.Flags().StringVar(&o.level, "level", "", "`level` of a built-in list, from 0 to 8,\nin place of --list")
	c.Flags().Uint64Var(&o.seed, "seed", 0, "`number` the paper is drawn from\n(default: another each time)")
	c.Flags().StringArrayVar(&o.without, "without", nil, "leave a `part` out, as in --without \"ear tests\"")
	c.Flags().StringArrayVar(&o.pieces, "piece", nil, "a `score` the pupil plays, once for each in order")
	c.Flags().StringArrayVar(&o.studies, "study", nil, "a `score` the pupil chose as a study")
	c.Flags().StringVar(&o.favourite, "favourite", "", "the `piece` that questions are asked about\n(default: the first)")
	addScores(c, &o.scores)
}

// draw draws the paper.
func (o *paperOptions) draw(c *cobra.Command) (*exam.Paper, error) {
	if !c.Flags().Changed("seed") {
		o.seed = rand.Uint64N(1e6)
	}
	list, err := o.chosenList()
	if err != nil {
		return nil, err
	}
	choices, err := o.choices()
	if err != nil {
		return nil, err
	}
	p, err := exam.Draw(list, choices, o.seed)
	if err != nil {
		return nil, usageError{err}
	}
	return p, nil
}

func (o *paperOptions) chosenList() (*references.List, error) {
	switch {
	case o.list != "" && o.level != "":
		return nil, usageError{fmt.Errorf("--list has a level of its own: leave out --level")}
	case o.list != "":
		return openList(o.list)
	case o.level != "":
		return openLevel(o.level)
	}
	return nil, usageError{fmt.Errorf("which list is the paper drawn from? Say it, as in --level 3 or --list my-list.toml")}
}

// openLevel is the built-in list of a level.
func openLevel(level string) (*references.List, error) {
	if n, err := strconv.Atoi(level); err == nil {
		if l, err := references.FindList(strconv.Itoa(n)); err == nil {
			return l.List, nil
		}
	}
	return nil, usageError{fmt.Errorf("no level %q: choose 0, a first step, to 8", level)}
}

func (o *paperOptions) choices() (exam.Choices, error) {
	c := exam.Choices{Find: o.find}
	for _, w := range o.without {
		kind, err := partNamed(w)
		if err != nil {
			return c, usageError{err}
		}
		c.Without = append(c.Without, kind)
	}
	var err error
	if c.Pieces, err = o.found(o.pieces); err != nil {
		return c, err
	}
	if c.Studies, err = o.found(o.studies); err != nil {
		return c, err
	}
	if o.favourite == "" {
		return c, nil
	}
	s, err := o.find(o.favourite)
	if err != nil {
		return c, err
	}
	c.Favourite = slices.IndexFunc(c.Pieces, func(p exam.Score) bool { return p.Path == s.Path })
	if c.Favourite < 0 {
		return c, usageError{fmt.Errorf("%s is not among the pieces played: name it with --piece too", s.Title)}
	}
	return c, nil
}

func (o *paperOptions) found(names []string) ([]exam.Score, error) {
	var all []exam.Score
	for _, name := range names {
		s, err := o.find(name)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, nil
}

// find opens a score by its title or path.
func (o *paperOptions) find(name string) (exam.Score, error) {
	ref, path, err := repertoire.Open(name, scoreFolders(o.scores)...)
	if err != nil {
		return exam.Score{}, unreadable(name, err)
	}
	return exam.Score{Title: ref.Title, Path: path, Reference: ref}, nil
}

// partNamed is the kind of part with a name, or the only one that begins with it.
func partNamed(name string) (references.PartKind, error) {
	name = strings.ToLower(strings.TrimSpace(name))
	var found []string
	for _, k := range references.PartKinds() {
		if k == name {
			return references.PartKind(k), nil
		}
		if name != "" && strings.HasPrefix(k, name) {
			found = append(found, k)
		}
	}
	if len(found) == 1 {
		return references.PartKind(found[0]), nil
	}
	return "", fmt.Errorf("no part is called %q: did you mean %q?", name, references.Nearest(name, references.PartKinds(), 1)[0])
}

func newExamDraw() *cobra.Command {
	var o paperOptions
	var format, reading string
	c := &cobra.Command{
		Use:   "draw",
		Short: "draw the paper of a mock exam, and print it",
		Long: `Draws a paper from a list of requirements and prints what will be asked, in the
wording in which it is called for. The same --seed draws the same paper.

Pieces and studies are the pupil's own: name them by title or file. Any part can
be left out; the others then weigh more in proportion. --reading writes the
music that is to be read at sight, to be printed by any engraver; the pupil
should not see it before.

Exit status: 0 when the paper was drawn; 1 when a list or a score could not be
read; 2 when the command line is wrong.`,
		Example: `  evenhand exam draw --level 3 --seed 7
  evenhand exam draw --level 2 --piece "Harbour Waltz" --without ear`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			p, err := o.draw(c)
			if err != nil {
				return err
			}
			if reading != "" {
				if err := writeReading(reading, p); err != nil {
					return err
				}
			}
			switch format {
			case "json":
				return writeJSON(c.OutOrStdout(), p)
			case "text":
				return writePaper(c.OutOrStdout(), p)
			}
			return usageError{fmt.Errorf("no format %q: choose text or json", format)}
		},
	}
	addPaper(c, &o)
	c.Flags().StringVar(&reading, "reading", "", "`file` to write the music to be read to, in MusicXML")
	addFormat(c, &format)
	return c
}

// writeReading writes what is to be read at sight. Of several pieces the second and later have a number in
// their names.
func writeReading(path string, p *exam.Paper) error {
	n := 0
	for i := range p.Parts {
		r := p.Parts[i].Reading
		if r == nil {
			continue
		}
		name := path
		if n++; n > 1 {
			ext := filepath.Ext(path)
			name = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(path, ext), n, ext)
		}
		var b bytes.Buffer
		err := musicxml.Write(&b, exam.ReadAtSight(r.Level, r.Seed))
		if err == nil {
			err = os.WriteFile(name, b.Bytes(), 0o644)
		}
		if err != nil {
			return fmt.Errorf("%s cannot be written: %w", name, cause(err))
		}
	}
	if n == 0 {
		return usageError{errors.New("there is nothing to be read at sight in this paper: leave out --reading")}
	}
	return nil
}

func writePaper(out io.Writer, p *exam.Paper) error {
	var b strings.Builder
	columns := columnsOf(out)
	wrap(&b, columns, "", fmt.Sprintf("%s, drawn with --seed %d. For practice: no official result.", plain(p.List), p.Seed))
	section := -1
	for i := range p.Parts {
		q := &p.Parts[i]
		if q.Section != section {
			section = q.Section
			s := p.Sections[section]
			fmt.Fprintf(&b, "\n%s (weighs %.0f of 100)\n", plain(s.Title), s.Weight)
		}
		wrap(&b, columns, fmt.Sprintf("%3d. ", q.Number), plain(q.Words))
		if q.Request != nil && q.Request.Tempo != "" {
			wrap(&b, columns, "     ", "At "+q.Request.Tempo+", or faster.")
		}
	}
	if len(p.Notes) > 0 {
		b.WriteString("\n")
	}
	for _, n := range p.Notes {
		wrap(&b, columns, "", plain(n))
	}
	_, err := io.WriteString(out, b.String())
	return err
}
