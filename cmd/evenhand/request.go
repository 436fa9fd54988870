package main

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"evenhand/references"
)

func newRequest() *cobra.Command {
	return &cobra.Command{
		Use:   "request WHAT...",
		Short: "print the notes and fingers that a request asks for",
		Long: `Prints what is expected: every note of each hand, in order, with the usual
fingering under it. Fingerings are help, common practice and never judged: a
piano cannot see fingers.`,
		Example: "  evenhand request B flat major scale, hands together, contrary motion, piano",
		Args:    someArguments("what to play, such as \"D major scale\""),
		RunE: func(c *cobra.Command, args []string) error {
			r, err := references.Parse(strings.Join(args, " "))
			if err != nil {
				return usageError{err}
			}
			ref, err := r.Reference()
			if err != nil {
				return usageError{err}
			}
			printRequest(c.OutOrStdout(), r, ref)
			return nil
		},
	}
}

// printRequest writes the request, then the notes of each hand in each direction.
func printRequest(w io.Writer, r references.Request, ref *references.Reference) {
	about := []string{r.String(), r.Spoken(), expectation(r, ref) + "."}
	if form := ref.Request.Form; r.Form == references.Minor && form != references.Minor {
		about = append(about, "Any form of the minor will do, if it is the same throughout; this is the harmonic.")
	}
	var b strings.Builder
	for _, line := range about {
		wrap(&b, columnsOf(w), "", line)
	}
	fmt.Fprint(w, b.String())
	for _, hand := range []references.Hand{references.Right, references.Left} {
		for _, l := range legs(ref, hand) {
			l.print(w)
		}
	}
}

// expectation says how many notes there are and how they go to the beat.
func expectation(r references.Request, ref *references.Reference) string {
	last := ref.Notes[len(ref.Notes)-1]
	perBeat := ref.Beat.Float() / last.Length.Float()
	s := fmt.Sprintf("%d notes, %g to the beat", len(ref.Notes), perBeat)
	if low, high := ref.Span(); high-low > 60 {
		s += "; it needs more than 61 keys"
	}
	if r.Kind == references.Scale || r.Kind == references.Arpeggio {
		s += "; start in any octave"
	}
	return s
}

// leg is what one hand plays in one direction.
type leg struct {
	title          string
	names, fingers []string
}

// legs lists what a hand plays, cut at the turns. Notes struck together stand in one place.
func legs(ref *references.Reference, hand references.Hand) []leg {
	var out []leg
	dir := references.Direction(-1)
	var onset references.Quarters
	for i := range ref.Notes {
		n := &ref.Notes[i]
		if !n.Hand.Has(hand) {
			continue
		}
		if d := direction(ref, i, hand, dir); d != dir {
			dir = d
			out = append(out, leg{title: strings.TrimSpace(fmt.Sprintf("%s hand %s", hand, dir))})
		}
		l := &out[len(out)-1]
		name, finger := n.Pitch.String(), "-"
		if f := n.Fingering(hand); f > 0 {
			finger = fmt.Sprint(f)
		}
		if k := len(l.names) - 1; k >= 0 && n.Onset == onset {
			l.names[k] += "+" + name
			l.fingers[k] += "+" + finger
		} else {
			l.names, l.fingers = append(l.names, name), append(l.fingers, finger)
		}
		onset = n.Onset
	}
	return out
}

// direction is the way a hand goes with note i, having come by way of before, which is -1 at first. A
// unison of the hands is written with the right hand's: the other goes on as it was, or as it will.
func direction(ref *references.Reference, i int, hand references.Hand, before references.Direction) references.Direction {
	if ref.Notes[i].Hand != references.Both || hand == references.Right {
		return ref.Notes[i].Direction
	}
	if before >= 0 {
		return before
	}
	for _, n := range ref.Notes[i:] {
		if n.Hand == hand {
			return n.Direction
		}
	}
	return ref.Notes[i].Direction
}

// print writes the leg in lines, fingers under the notes.
func (l leg) print(w io.Writer) {
	const margin = 2
	columns := columnsOf(w)
	fmt.Fprintf(w, "\n%s\n", upperFirst(l.title))
	for i := 0; i < len(l.names); {
		names, fingers := strings.Repeat(" ", margin), strings.Repeat(" ", margin)
		for i < len(l.names) {
			width := max(utf8.RuneCountInString(l.names[i]), utf8.RuneCountInString(l.fingers[i])) + 1
			if utf8.RuneCountInString(names)+width > columns {
				break
			}
			names += pad(l.names[i], width)
			fingers += pad(l.fingers[i], width)
			i++
		}
		fmt.Fprintf(w, "%s\n%s\n", strings.TrimRight(names, " "), strings.TrimRight(fingers, " "))
	}
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
