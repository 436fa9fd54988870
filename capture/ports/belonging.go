package ports

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
)

// ErrSilent is wrapped by the error for a piano that cannot be made to sound.
var ErrSilent = errors.New("no MIDI input to sound through")

var (
	// JACK numbers the clients of one name from the second on: "piano", "piano-01".
	sameClient = regexp.MustCompile(`-\d\d:`)
	// The words that tell the two directions of one device apart, and where it stands in a list.
	direction = regexp.MustCompile(`\b(in|out|input|output|capture|playback|from|to)\b`)
	digits    = regexp.MustCompile(`\d+`)
)

// OutputOf finds the output that belongs to an input: the one by which the same piano can be made to
// sound. Systems give the two no common name, so it is the output of the same system whose name is the
// same, or is so once the words for the direction are left out, or the numbers as well.
func (l Lists) OutputOf(in Port) (Port, error) {
	for _, same := range []func(string) string{exactly, undirected, unnumbered} {
		var found []Port
		for _, out := range l.Out {
			if out.System == in.System && out.Through == in.Through && same(out.Name) == same(in.Name) {
				found = append(found, out)
			}
		}
		switch len(found) {
		case 0:
		case 1:
			return found[0], nil
		default:
			return Port{}, fmt.Errorf("the sound of %s may be any of the MIDI outputs %s: choose one by its number", in.Name, join(found))
		}
	}
	return Port{}, fmt.Errorf("%s has %w: only its own keys make it sound", in.Name, ErrSilent)
}

func exactly(name string) string { return name }

func undirected(name string) string {
	name = once(sameClient.ReplaceAllString(name, ":"))
	name = strings.ReplaceAll(strings.ToLower(name), "_", " ")
	return plain(direction.ReplaceAllString(name, ""))
}

func unnumbered(name string) string { return digits.ReplaceAllString(undirected(name), "") }

// OpenSound opens the output to make a piano sound by: the one that choice names, as [Lists.Output]
// finds it, or with an empty choice the one that belongs to the input that piano names. Where there is
// no input the only output is taken, which may be a sound module without keys.
func OpenSound(piano, choice string) (*Out, Port, error) {
	var p Port
	out, err := openOut(func(d driver) (s sink, err error) {
		if p, err = d.list().sound(piano, choice); err != nil {
			return nil, err
		}
		return d.openOut(p)
	})
	return out, p, err
}

func (l Lists) sound(piano, choice string) (Port, error) {
	if choice != "" {
		return l.Output(choice)
	}
	in, err := l.Input(piano)
	switch {
	case err == nil:
		return l.OutputOf(in)
	case piano == "" && errors.Is(err, ErrNone):
		return l.Output("")
	}
	return Port{}, err
}
