package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenhand/exam"
	"evenhand/journal"
)

type planOptions struct {
	journalOptions
	minutes int
	wanted  []string
	list    string
	format  string
}

func newPlan() *cobra.Command {
	var o planOptions
	c := &cobra.Command{
		Use:   "plan",
		Short: "propose what to practise today, and why",
		Long: `Proposes today's practice in the time there is: what the teacher set comes
first, then what is weak and due again, and what the coming exam asks (--wanted,
once for each, or --list for all that a list of requirements has). When a thing
is due comes from the repetition-spacing algorithm SM-2 (Wozniak 1990), out of
the marks of each day it was heard.

Rest after 25 minutes. Stop when playing hurts, and ask a teacher or a doctor.`,
		Example: "  evenhand plan --minutes 15\n  evenhand plan --wanted \"E flat major scale, hands together\"\n  evenhand plan --list \"level 3\"",
		Args:    noArguments,
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, _ []string) error {
			return runPlan(ctx, c.OutOrStdout(), j, &o)
		}),
	}
	addPupil(c, &o.journalOptions)
	c.Flags().IntVarP(&o.minutes, "minutes", "m", usualMinutes, "`minutes` there are")
	addList(c, &o.list)
	c.Flags().StringArrayVarP(&o.wanted, "wanted", "w", nil, "a `request` that the coming exam asks")
	addFormat(c, &o.format)
	return c
}

// planFor proposes a pupil's practice.
func planFor(ctx context.Context, j *journal.Journal, pupil string, minutes int, wanted []string) ([]journal.Proposal, error) {
	now := time.Now()
	takes, err := j.History(ctx, pupil, time.Time{})
	if err != nil {
		return nil, err
	}
	tasks, err := j.Tasks(ctx, pupil, now)
	if err != nil {
		return nil, err
	}
	return journal.Plan(takes, journal.Wishes{Minutes: minutes, Tasks: tasks, Wanted: wanted, Now: now, Place: time.Local}), nil
}

// wantedBy is all that a list asks, in an order that changes with the day; nothing where none is named.
func wantedBy(list string) ([]string, error) {
	if list == "" {
		return nil, nil
	}
	l, err := openList(list)
	if err != nil {
		return nil, err
	}
	var all []string
	for _, a := range exam.Requests(l, uint64(time.Now().YearDay())) {
		all = append(all, a.Request.String())
	}
	return all, nil
}

// usualMinutes is how long a plan is for where nothing is said. Common practice.
const usualMinutes = 20

func checkMinutes(minutes int) error {
	if minutes < 1 || minutes > 24*60 {
		return usageError{fmt.Errorf("a plan for %d minutes: give --minutes a number above 0", minutes)}
	}
	return nil
}

func runPlan(ctx context.Context, out io.Writer, j *journal.Journal, o *planOptions) error {
	if err := checkMinutes(o.minutes); err != nil {
		return err
	}
	pupil, err := o.chosen(ctx, j)
	if err != nil {
		return err
	}
	listed, err := wantedBy(o.list)
	if err != nil {
		return err
	}
	plan, err := planFor(ctx, j, pupil, o.minutes, append(o.wanted, listed...))
	if err != nil {
		return err
	}
	switch o.format {
	case "json":
		return writeJSON(out, map[string]any{"schema": 1, "pupil": pupil, "plan": plan})
	case "text":
		return writePlan(out, plan)
	}
	return usageError{fmt.Errorf("no format %q: choose text or json", o.format)}
}

func writePlan(out io.Writer, plan []journal.Proposal) error {
	var b strings.Builder
	if len(plan) == 0 {
		b.WriteString("Nothing has been heard or set yet: play something with evenhand listen first.\n")
	}
	for _, p := range plan {
		what := plain(p.Asked)
		if what == "" {
			what = "Rest"
		}
		wrap(&b, columnsOf(out), fmt.Sprintf("%3d min  ", p.Minutes), what)
		for _, line := range strings.Split(p.Note, "\n") {
			if line != "" {
				wrap(&b, columnsOf(out), "         ", "“"+plain(line)+"”")
			}
		}
		wrap(&b, columnsOf(out), "         ", plain(strings.Join(p.Why, "; "))+".")
	}
	_, err := io.WriteString(out, b.String())
	return err
}

type setOptions struct {
	journalOptions
	until string
	note  string
}

func newSet() *cobra.Command {
	var o setOptions
	c := &cobra.Command{
		Use:   "set WHAT...",
		Short: "set something for a pupil to practise",
		Long: `The teacher sets something to be practised until a day; the pupil sees it first
in "evenhand plan". WHAT is a request or a score; what it is to be like, or any
other word to the pupil, goes into --note.`,
		Example: "  evenhand set D minor harmonic, left hand alone --note slowly --until friday",
		Args:    someArguments("what is to be practised"),
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, words []string) error {
			return runSet(ctx, c.OutOrStdout(), j, strings.Join(words, " "), &o)
		}),
	}
	addPupil(c, &o.journalOptions)
	c.Flags().StringVar(&o.until, "until", "", "`day`: friday, or 2026-09-11 (default: in a week)")
	c.Flags().StringVar(&o.note, "note", "", "`words` to the pupil")
	return c
}

func runSet(ctx context.Context, out io.Writer, j *journal.Journal, what string, o *setOptions) error {
	pupil, err := o.chosen(ctx, j)
	if err != nil {
		return err
	}
	now := time.Now()
	until, err := dayNamed(o.until, now)
	if err != nil {
		return usageError{err}
	}
	a, note, err := askedWithNote(what)
	if err != nil {
		return unreadable(what, err)
	}
	t := journal.Task{Asked: a.against, Note: strings.TrimSpace(note + " " + o.note), At: now, Until: until}
	if err := j.Set(ctx, pupil, t); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "set for %s until %s: %s\n", plain(pupil), until.Format("Monday 2 January"), plain(a.against))
	return err
}

// askedWithNote reads what is set. Words after the last comma that belong to no request ("slowly") are a
// note.
func askedWithNote(what string) (*asked, string, error) {
	a, err := findAsked(what, scoreFolders(nil))
	if err == nil {
		return a, "", nil
	}
	if i := strings.LastIndexByte(what, ','); i > 0 {
		if a, other := findAsked(what[:i], scoreFolders(nil)); other == nil {
			return a, strings.TrimSpace(what[i+1:]), nil
		}
	}
	return nil, "", err
}

// dayNamed is the end of a day: of the next weekday of the name, today's in a week; of a date; or in a
// week where none is named.
func dayNamed(name string, now time.Time) (time.Time, error) {
	end := func(t time.Time) time.Time {
		return time.Date(t.Year(), t.Month(), t.Day(), 23, 59, 59, 0, t.Location())
	}
	if name == "" {
		return end(now.AddDate(0, 0, 7)), nil
	}
	if t, err := time.ParseInLocation(time.DateOnly, name, now.Location()); err == nil {
		if end(t).Before(now) {
			return t, fmt.Errorf("%s is over: name a day to come", name)
		}
		return end(t), nil
	}
	for i := 1; i <= 7; i++ {
		day := now.AddDate(0, 0, i)
		if full := day.Weekday().String(); strings.EqualFold(name, full) || strings.EqualFold(name, full[:3]) {
			return end(day), nil
		}
	}
	return now, fmt.Errorf("no day %q: say friday, or a date as in 2026-09-11", name)
}
