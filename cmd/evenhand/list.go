package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/references"
)

func newList() *cobra.Command {
	c := &cobra.Command{
		Use:   "list",
		Short: "show, copy and check lists of requirements",
		Long: `A list of requirements says what an exam asks: its parts, how many of each, who
chooses, what they weigh, and how strictly they are marked. The built-in ones
hold what is common practice and are no exam body's. Copy one and edit it for
the syllabus you teach; it is plain text in TOML.`,
		Example: "  evenhand list show",
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newListShow(), newListCopy(), newListCheck())
	return c
}

// addList adds the option for a list.
func addList(c *cobra.Command, list *string) {
	c.Flags().StringVar(list, "list", "", "`list` of requirements: a built-in one (\"level 3\"),\nor a file")
}

// openList opens a built-in list by its name, or a file. The error about a file names it.
func openList(name string) (*references.List, error) {
	built, err := references.FindList(name)
	if err == nil {
		return built.List, nil
	}
	if info, statErr := os.Stat(name); statErr == nil && info.IsDir() || !isListPath(name) {
		return nil, usageError{fmt.Errorf("%w (a list of your own is named by its file)", err)}
	}
	l, err := readListFile(name)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return l, nil
}

// isListPath reports whether a name can only be that of a file.
func isListPath(name string) bool {
	return strings.EqualFold(filepath.Ext(name), ".toml") || isPath(name)
}

func readListFile(path string) (*references.List, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, cause(err)
	}
	defer f.Close()
	l, err := references.ReadList(f)
	return l, cause(err)
}

func newListShow() *cobra.Command {
	return &cobra.Command{
		Use:   "show [LIST]",
		Short: "tell what there is to choose from, or what a list asks",
		Example: `  evenhand list show
  evenhand list show "level 3"`,
		Args: atMostOne("list"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return showLists(c.OutOrStdout())
			}
			l, err := openList(args[0])
			if err != nil {
				return err
			}
			return showList(c.OutOrStdout(), l)
		},
	}
}

// atMostOne is for commands that take one thing or none.
func atMostOne(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) <= 1 {
			return nil
		}
		return misused(c, "%s takes one %s, but there is %q too; put quotes round a name with spaces", c.Name(), what, args[1])
	}
}

func showLists(out io.Writer) error {
	var b strings.Builder
	for _, l := range references.Lists() {
		wrap(&b, columnsOf(out), pad(strings.ToLower(l.Name), 12), l.About)
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// showList tells what a list asks, part by part.
func showList(out io.Writer, l *references.List) error {
	var b strings.Builder
	columns := columnsOf(out)
	wrap(&b, columns, "", plain(strings.TrimSpace(l.Name+". "+l.About)))
	sum := 0.0
	for i := range l.Parts {
		sum += l.Parts[i].Weight
	}
	for i := range l.Parts {
		p := &l.Parts[i]
		fmt.Fprintf(&b, "\n%s (weighs %.0f of 100)\n", plain(p.Title), 100*p.Weight/sum)
		wrap(&b, columns, "  ", plain(partLine(p)))
		tempo := ""
		for k := range p.Pool {
			if t := p.Pool[k].Least.String(); t != tempo {
				tempo = t
				wrap(&b, columns, "  ", "At "+t+", or faster:")
			}
			wrap(&b, columns, "  - ", p.Pool[k].Request.Spoken())
		}
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// partLine is what a part asks, in one sentence.
func partLine(p *references.ListPart) string {
	chosen := fmt.Sprintf("chosen by the %s", p.ChosenBy)
	switch p.Kind {
	case references.RequestsPart:
		line := fmt.Sprintf("%d of these, %s", p.Number, chosen)
		var loud []string
		for _, d := range p.Loudness {
			loud = append(loud, d.Words())
		}
		if len(loud) > 0 {
			line += "; loudness: " + strings.Join(loud, ", ")
		}
		return line + "."
	case references.StudiesPart, references.PiecesPart:
		if len(p.Titles) > 0 {
			return fmt.Sprintf("%d of %s, %s.", p.Number, strings.Join(p.Titles, ", "), chosen)
		}
		return fmt.Sprintf("%d, %s.", p.Number, chosen)
	case references.SightReadingPart:
		return fmt.Sprintf("%d, made fresh for level %d, after %d seconds to look.", p.Number, p.Level, p.Look)
	case references.QuestionsPart:
		return fmt.Sprintf("%d, for level %d; the piece is %s.", p.Number, p.Level, chosen)
	}
	return strings.Join(p.Items, ", ") + fmt.Sprintf(", for level %d.", p.Level)
}

func newListCopy() *cobra.Command {
	return &cobra.Command{
		Use:     "copy LIST FILE",
		Short:   "copy a built-in list to a file, to be edited",
		Example: "  evenhand list copy \"level 3\" my-list.toml",
		Args:    names(2, "a built-in list and the file to make; put quotes round a name with spaces"),
		RunE: func(c *cobra.Command, args []string) error {
			l, err := references.FindList(args[0])
			if err != nil {
				return usageError{err}
			}
			f, err := os.OpenFile(args[1], os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
			if errors.Is(err, os.ErrExist) {
				return fmt.Errorf("%s is there already: name another file, or remove it first", args[1])
			}
			if err == nil {
				_, err = io.Copy(f, bytes.NewReader(l.Text))
				err = errors.Join(err, f.Close())
			}
			if err != nil {
				return fmt.Errorf("%s cannot be written: %w", args[1], cause(err))
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "%s is copied to %s: edit it, then evenhand list check %s\n", l.Name, plain(args[1]), plain(args[1]))
			return err
		},
	}
}

func newListCheck() *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE...",
		Short: "check lists of your own, and tell every fault with its line",
		Long: `Reads lists over. Each fault is told in a line of its own, with the line of the
file and what to do.

Exit status: 0 when all lists can be used; 1 when one cannot.`,
		Example: "  evenhand list check my-list.toml",
		Args:    someArguments("a file, such as one that list copy has made"),
		RunE: func(c *cobra.Command, args []string) error {
			var told error
			for _, path := range args {
				l, err := readListFile(path)
				var faults references.ListFaults
				switch {
				case errors.As(err, &faults):
					for _, f := range faults {
						say(c.ErrOrStderr(), fmt.Errorf("%s: %w", path, f))
					}
					told = errTold
				case err != nil:
					say(c.ErrOrStderr(), fmt.Errorf("%s: %w", path, err))
					told = errTold
				default:
					fmt.Fprintf(c.OutOrStdout(), "%s can be used: %s\n", plain(path), plain(inShort(l)))
				}
			}
			return told
		},
	}
}

// inShort is a list in one line.
func inShort(l *references.List) string {
	parts := make([]string, len(l.Parts))
	for i := range l.Parts {
		parts[i] = strings.ToLower(l.Parts[i].Title)
	}
	return l.Name + ", with " + strings.Join(parts, ", ")
}
