package references

import (
	"bytes"
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"
)

// listFiles are the built-in lists: a first step and eight levels.
//
//go:embed lists/*.toml
var listFiles embed.FS

// builtInLists are read once. Their files sort as their levels do.
var builtInLists = sync.OnceValue(func() (all []BuiltInList) {
	names, err := listFiles.ReadDir("lists")
	if err != nil {
		panic(err) // they are part of the program
	}
	for _, n := range names {
		text, err := listFiles.ReadFile(path.Join("lists", n.Name()))
		if err != nil {
			panic(err)
		}
		l, err := ReadList(bytes.NewReader(text))
		if err != nil {
			panic(fmt.Sprintf("%s: %v", n.Name(), err))
		}
		all = append(all, BuiltInList{l, text})
	}
	return all
})

// BuiltInList is a list of our own, and the TOML it is read from, to be copied and edited.
type BuiltInList struct {
	*List
	Text []byte
}

// Lists are the built-in lists, the easiest first. They are shared and not to be changed.
func Lists() []BuiltInList { return slices.Clone(builtInLists()) }

// FindList finds a built-in list by its name or its level: "first step", "level 3", "3".
func FindList(name string) (BuiltInList, error) {
	want := strings.Join(strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return strings.ContainsRune(" -_", c) }), " ")
	var names []string
	for _, l := range Lists() {
		known := strings.ToLower(l.Name)
		if want == known || want == fmt.Sprint(l.Level) {
			return l, nil
		}
		names = append(names, known)
	}
	return BuiltInList{}, fmt.Errorf("there is no list %q: did you mean %s?", name, choice(Nearest(want, names, 2)))
}
