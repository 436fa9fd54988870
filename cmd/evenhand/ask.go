package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/exam"
	"evenhand/references"
	"evenhand/scoring"
)

const askHelp = `Asks for one scale or arpeggio after another, as a teacher would, in an order
drawn by lot, listens to each and tells how it went. The next is asked for by n,
or by striking the highest key of the piano twice; q ends it.

--only keeps those that have all of its words, as in --only "minor arpeggio".
--list asks what a list of requirements has, and --plan what is to be practised
today. The same --seed asks in the same order.

Take a rest now and then. Stop when playing hurts, and ask a teacher or a
doctor.

Exit status: 0 when all that was heard was kept and marked; 1 when no piano or
no note was heard, or a take could not be kept; 2 when the command line is
wrong.`

func newAsk() *cobra.Command {
	var o listenOptions
	var only, list string
	var seed uint64
	var plan bool
	var minutes int
	c := &cobra.Command{
		Use:   "ask",
		Short: "ask for one scale or arpeggio after another",
		Long:  askHelp,
		Example: `  evenhand ask
  evenhand ask --only "harmonic minor" --seed 7
  evenhand ask --only major --tempo 60 --count-in
  evenhand ask --plan --minutes 15`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			if !c.Flags().Changed("seed") {
				seed = rand.Uint64()
			}
			var err error
			switch {
			case plan && (only != "" || c.Flags().Changed("seed")):
				return usageError{errors.New("--plan has an order of its own: leave out --only and --seed")}
			case plan:
				if o.list, err = planned(c.Context(), &o.journalOptions, minutes, list, c.ErrOrStderr()); err != nil {
					return err
				}
			default:
				if o.list, err = draw(list, only, seed); err != nil {
					return err
				}
			}
			return runListen(c.Context(), c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr(), "", o)
		},
	}
	c.Flags().StringVar(&only, "only", "", "ask only for what has these `words`")
	c.Flags().Uint64Var(&seed, "seed", 0, "`number` the order is drawn from\n(default: another each time)")
	c.Flags().BoolVar(&plan, "plan", false, "ask for today's plan, the teacher's wishes first")
	c.Flags().IntVarP(&minutes, "minutes", "m", usualMinutes, "`minutes` there are for the plan")
	addList(c, &list)
	addPupil(c, &o.journalOptions)
	addSources(c, &o)
	addTempo(c, &o.partOptions)
	addBeat(c, &o.beatOptions)
	addPage(c, &o)
	addFormat(c, &o.format)
	addLevel(c, &o.level)
	return c
}

// planned are the requests and pieces of the pupil's plan, in its order.
func planned(ctx context.Context, o *journalOptions, minutes int, list string, errw io.Writer) ([]*asked, error) {
	if err := checkMinutes(minutes); err != nil {
		return nil, err
	}
	wanted, err := wantedBy(list)
	if err != nil {
		return nil, err
	}
	j, err := o.open(ctx, errw)
	if err != nil {
		return nil, err
	}
	defer j.Close()
	pupil, err := o.chosen(ctx, j)
	if err != nil {
		return nil, err
	}
	plan, err := planFor(ctx, j, pupil, minutes, wanted)
	if err != nil {
		return nil, err
	}
	var all []*asked
	for _, p := range plan {
		if p.Asked == "" {
			continue // a rest
		}
		a, err := findAsked(p.Asked, scoreFolders(nil))
		if err != nil {
			say(errw, fmt.Errorf("the plan has %q, which cannot be asked for: %w", p.Asked, err))
			continue
		}
		all = append(all, a)
	}
	if len(all) == 0 {
		return nil, errors.New("there is no plan yet: play something with evenhand listen first, or evenhand ask without --plan")
	}
	return all, nil
}

// usualKeys are the twelve keys as they are usually called for, major and minor.
var usualKeys = [2][12]string{
	{"C", "G", "D", "A", "E", "B", "F sharp", "D flat", "A flat", "E flat", "B flat", "F"},
	{"A", "E", "B", "F sharp", "C sharp", "G sharp", "E flat", "B flat", "F", "C", "G", "D"},
}

// usualRequests are what is asked for: scales and arpeggios over two octaves, hands together, in all
// keys, chromatic scales, and scales in contrary motion in the keys in which both hands have like
// fingers. Common practice.
func usualRequests() []string {
	var all []string
	for i := range 12 {
		major, minor := usualKeys[0][i], usualKeys[1][i]
		all = append(all,
			major+" major scale, hands together", minor+" harmonic minor scale, hands together",
			minor+" melodic minor scale, hands together",
			major+" major arpeggio, hands together", minor+" minor arpeggio, hands together",
			"chromatic scale on "+major+", hands together")
	}
	for _, key := range []string{"C", "G", "D", "A", "E"} {
		all = append(all, key+" major scale, hands together, contrary motion")
	}
	return append(all, "A harmonic minor scale, hands together, contrary motion", "chromatic scale on D, hands together, contrary motion")
}

// loudnesses are asked for by lot: most requests leave it open.
var loudnesses = [...]string{"", "", "", ", piano", ", mezzo-forte", ", forte"}

// draw puts the requests that have all the words in an order drawn by lot: those of a list where one is
// named, else the usual ones.
func draw(list, only string, seed uint64) ([]*asked, error) {
	lot := rand.New(rand.NewPCG(seed, 0))
	requests, err := requestsToDraw(list, seed, lot)
	if err != nil {
		return nil, err
	}
	var all []*asked
	for _, r := range requests {
		if a := newAsked(r); has(a.against, only) {
			all = append(all, a)
		}
	}
	if len(all) == 0 {
		return nil, usageError{fmt.Errorf("nothing that is asked for has the words %q: try fewer, as in --only minor", only)}
	}
	if list == "" { // a list is drawn with its keys and hands spread already
		lot.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	}
	return all, nil
}

// requestsToDraw are all requests of a list, spread over its keys, or the usual ones in order, with a
// loudness drawn for each.
func requestsToDraw(list string, seed uint64, lot *rand.Rand) ([]references.Request, error) {
	var all []references.Request
	if list != "" {
		l, err := openList(list)
		if err != nil {
			return nil, err
		}
		for _, a := range exam.Requests(l, seed) {
			all = append(all, a.Request)
		}
		return all, nil
	}
	for _, words := range usualRequests() {
		r, err := references.Parse(words + loudnesses[lot.IntN(len(loudnesses))])
		if err != nil {
			return nil, err
		}
		all = append(all, r)
	}
	return all, nil
}

// has reports whether all words are among those of text.
func has(text, words string) bool {
	text = " " + strings.ToLower(strings.ReplaceAll(text, ",", " ")) + " "
	for _, w := range strings.Fields(strings.ToLower(words)) {
		if !strings.Contains(text, " "+w+" ") {
			return false
		}
	}
	return true
}

// hearEach hears and judges one take of each request, line by line.
func (h *hearing) hearEach(ctx context.Context, src *source, list []*asked, tell func(*scoring.Assessment) error) error {
	for i, a := range list {
		h.asked = a
		err := h.hearTimes(ctx, src, 1, tell)
		switch {
		case i > 0 && (errors.Is(err, errNothing) || errors.Is(err, errEnded)):
			return nil
		case err != nil || src.over || ctx.Err() != nil:
			return err
		}
	}
	return nil
}
