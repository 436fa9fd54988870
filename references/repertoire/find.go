package repertoire

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"evenhand/references"
)

// NotFound is the error of [Find] where no score fits what was asked for.
type NotFound struct {
	What    string
	Nearest []string // titles, nearest first
}

// Error names the nearest titles.
func (e *NotFound) Error() string {
	text := fmt.Sprintf("no score is called %q", e.What)
	if looksLikePath(e.What) {
		text = fmt.Sprintf("there is no file %q, and no score of that name", e.What)
	}
	if len(e.Nearest) == 0 {
		return text
	}
	return fmt.Sprintf("%s: did you mean %s?", text, listed(e.Nearest))
}

// Ambiguous is the error of [Find] where several scores fit equally well.
type Ambiguous struct {
	What   string
	Scores []Score
}

// Error names the scores, with their files where titles are the same.
func (e *Ambiguous) Error() string {
	names := make([]string, len(e.Scores))
	for i, s := range e.Scores {
		names[i] = s.Title
		same := func(o Score) bool { return fold(o.Title) == fold(s.Title) && o.Path != s.Path }
		if slices.ContainsFunc(e.Scores, same) {
			names[i] = s.Path
		}
	}
	return fmt.Sprintf("%q fits %d scores: say which of %s", e.What, len(names), listed(names))
}

// listed lists words: "a", "b" or "c", and how many more where there are many.
func listed(words []string) string {
	const most = 8
	more := ""
	if len(words) > most {
		more = fmt.Sprintf(" or %d more", len(words)-most)
		words = words[:most]
	}
	var b strings.Builder
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1 && more == "":
			b.WriteString(" or ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(strconv.Quote(w))
	}
	return b.String() + more
}

// Open finds a score as [Find] does and reads it. The path is that of its file.
func Open(what string, dirs ...string) (ref *references.Reference, path string, err error) {
	s, err := Find(what, dirs...)
	if err != nil {
		return nil, "", err
	}
	ref, err = s.Read()
	return ref, s.Path, err
}

// Find finds a score by the path of its file, or by its title or the name of its file in the
// folders and among the built-in scores: the whole of it, else a part, else all words in any order.
// Capitals, accents and punctuation make no difference. The user's own scores come before built-in
// ones of the same title. The error is a [NotFound] or an [Ambiguous], or says what is wrong with the
// path.
func Find(what string, dirs ...string) (Score, error) {
	if looksLikePath(what) {
		switch info, err := os.Stat(what); {
		case errors.Is(err, fs.ErrPermission):
			return Score{}, err
		case err != nil: // perhaps the name of a file in a folder
		case info.IsDir():
			return Score{}, fmt.Errorf("%s is a folder: name a score in it", what)
		default:
			s, _ := titled(what)
			return s, nil
		}
	}
	all := List(dirs...)
	for _, fits := range fitting {
		found := matches(all, what, fits)
		if own := slices.DeleteFunc(slices.Clone(found), func(s Score) bool { return s.BuiltIn }); len(own) == 1 && sameTitles(found) {
			found = own
		}
		switch len(found) {
		case 0:
		case 1:
			return found[0], nil
		default:
			return Score{}, &Ambiguous{what, found}
		}
	}
	return Score{}, &NotFound{what, nearest(what, all)}
}

// looksLikePath reports whether the words are the path of a file and not a title.
func looksLikePath(what string) bool {
	_, known := formats[extension(what)]
	return known || strings.ContainsRune(what, filepath.Separator) || strings.ContainsRune(what, '/')
}

// fitting are the ways in which a name may fit what is asked for, both folded; the first that any
// score fits counts.
var fitting = []func(name, what string) bool{
	func(name, what string) bool { return name == what },
	func(name, what string) bool { return strings.Contains(" "+name, " "+what) },
	strings.Contains,
	func(name, what string) bool {
		for _, w := range strings.Fields(what) {
			if !strings.Contains(" "+name, " "+w) {
				return false
			}
		}
		return true
	},
}

func matches(all []Score, what string, fits func(name, what string) bool) []Score {
	bare := what
	if _, known := formats[extension(what)]; known {
		bare = strings.TrimSuffix(what, filepath.Ext(what))
	}
	asked := fold(bare)
	var out []Score
	for _, s := range all {
		path := fold(strings.TrimSuffix(s.Path, filepath.Ext(s.Path)))
		stem := fold(strings.TrimSuffix(filepath.Base(s.Path), filepath.Ext(s.Path)))
		inPath := strings.ContainsRune(what, '/') && strings.HasSuffix(" "+path, " "+asked)
		if asked != "" && (fits(fold(s.Title), asked) || fits(stem, asked) || inPath) {
			out = append(out, s)
		}
	}
	return out
}

func sameTitles(scores []Score) bool {
	for _, s := range scores {
		if fold(s.Title) != fold(scores[0].Title) {
			return false
		}
	}
	return true
}

// nearest is the titles that are fewest edits away, as a whole or by one of their words.
func nearest(what string, all []Score) []string {
	var names []string
	of := map[string][]string{} // titles by name
	add := func(name, title string) {
		if len(of[name]) == 0 {
			names = append(names, name)
		}
		of[name] = append(of[name], title)
	}
	for _, s := range all {
		folded := fold(s.Title)
		add(folded, s.Title)
		for _, w := range strings.Fields(folded) {
			if len([]rune(w)) > 3 && w != folded {
				add(w, s.Title)
			}
		}
	}
	var out []string
	for _, name := range references.Nearest(fold(what), names, 3) {
		for _, title := range of[name] {
			if !slices.Contains(out, title) && len(out) < 3 {
				out = append(out, title)
			}
		}
	}
	return out
}

// maxFiles bounds how many files of a folder are looked at.
const maxFiles = 10_000

// List is the scores in the folders and those below them, in order of title, and then the built-in
// ones. A folder that is not there has none; hidden folders and files are left out.
func List(dirs ...string) []Score {
	var own []Score
	left := maxFiles
	for _, dir := range dirs {
		_ = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			hidden := path != dir && strings.HasPrefix(filepath.Base(path), ".")
			switch left--; {
			case left < 0:
				return fs.SkipAll
			case err != nil || hidden && !d.IsDir():
				return nil
			case hidden:
				return fs.SkipDir
			case d.IsDir():
				return nil
			}
			if s, ok := titled(path); ok && !slices.ContainsFunc(own, func(o Score) bool { return o.Path == path }) {
				own = append(own, s)
			}
			return nil
		})
	}
	slices.SortStableFunc(own, func(a, b Score) int { return strings.Compare(fold(a.Title), fold(b.Title)) })
	return append(own, All()...)
}
