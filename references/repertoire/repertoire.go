// Package repertoire finds scores: the studies and pieces that are built in, composed for this
// project, and those in folders of the user's own.
//
// The built-in scores are MusicXML 4.0. They go from a first year at the piano to a third, and
// between them have what easy music asks for: dynamics and hairpins, slurs, staccato and accents,
// ornaments and grace notes, pedal, a rit. and a tempo, fermatas, repeats with and without endings.
package repertoire

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"evenhand/internal/smf"
	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/smfscore"
)

//go:embed *.musicxml
var files embed.FS

// Kind tells studies from pieces.
type Kind int8

// The kinds. A score of the user's own has none.
const (
	NoKind Kind = iota
	Study
	Piece
)

var kindNames = [...]string{"", "study", "piece"}

// String is "study", "piece" or "".
func (k Kind) String() string { return kindNames[k] }

// Score is one score that can be read.
type Score struct {
	Title   string // as in the score; the name of the file where it has none
	Path    string // the file; of a built-in score its name alone
	BuiltIn bool
	Kind    Kind // of a built-in score
	Year    int  // of a built-in score: the year of lessons it is for, from 1; 0 where nobody says
}

// builtIn are the scores of the project, easiest first.
var builtIn = []Score{
	{"Stepping Stones", "stepping-stones.musicxml", true, Study, 1},
	{"Raindrops and Puddles", "raindrops.musicxml", true, Study, 2},
	{"Harbour Waltz", "harbour-waltz.musicxml", true, Piece, 2},
	{"The Ferryman", "the-ferryman.musicxml", true, Piece, 2},
	{"Evening Tide", "evening-tide.musicxml", true, Study, 3},
	{"The Clockmaker's Dance", "clockmakers-dance.musicxml", true, Piece, 3},
}

// All is the built-in scores, easiest first.
func All() []Score { return append([]Score(nil), builtIn...) }

// Open opens the file.
func (s Score) Open() (io.ReadCloser, error) {
	if s.BuiltIn {
		return files.Open(s.Path)
	}
	return os.Open(s.Path)
}

// Read reads the score. Its title is s.Title where the score itself has none. The error names the
// file.
func (s Score) Read() (*references.Reference, error) {
	format, ok := formats[extension(s.Path)]
	if !ok {
		return nil, fmt.Errorf("%s: not a kind of file a score is read from: %s", s.Path, extensions)
	}
	f, err := s.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	ref, err := format.read(f, s.Path)
	if named := new(smf.Error); errors.As(err, &named) {
		return nil, err // it has the name already
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.Path, err)
	}
	if ref.Title == "" {
		ref.Title = s.Title
	}
	return ref, nil
}

// format is how files of one kind are read: the string is the name that faults are told under. A kind without titles goes by the names of its files.
type format struct {
	read  func(io.Reader, string) (*references.Reference, error)
	title func(io.Reader) (string, error)
}

var (
	score = format{func(r io.Reader, _ string) (*references.Reference, error) { return musicxml.Read(r) }, musicxml.Title}
	midi  = format{smfscore.Read, nil}
)

// formats are the kinds of file by extension, in lower case.
var formats = map[string]format{".musicxml": score, ".xml": score, ".mxl": score, ".mid": midi, ".midi": midi}

// extensions names the keys of formats.
const extensions = ".musicxml, .xml, .mxl, .mid or .midi"

func extension(path string) string { return strings.ToLower(filepath.Ext(path)) }

// titled fills in the title of a file of the user's own. What cannot be read keeps the name of its
// file, so that asking for it says what is wrong with it. An .xml file that is no score is no
// score at all: the second result says so.
func titled(path string) (Score, bool) {
	s := Score{Path: path, Title: strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))}
	format, ok := formats[extension(path)]
	if !ok {
		return s, false
	}
	if format.title == nil {
		return s, true
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return s, true
	}
	title, err := format.title(bytes.NewReader(data))
	if err != nil {
		return s, extension(path) != ".xml"
	}
	if title != "" {
		s.Title = title
	}
	return s, true
}
