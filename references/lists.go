package references

import (
	"bytes"
	"embed"
	"fmt"
	"strconv"
	"strings"
)

// listFiles are the built-in lists: a first step and eight levels.
//
//go:embed lists/*.toml
var listFiles embed.FS

// listNames are the names of the built-in lists, that of level i in place i.
var listNames = []string{
	"first step", "level 1", "level 2", "level 3", "level 4", "level 5", "level 6", "level 7", "level 8",
}

// BuiltInList is a list of our own, and the TOML it is read from, to be copied and edited.
type BuiltInList struct {
	*List
	Text []byte
}

// Lists are the built-in lists, the easiest first.
func Lists() []BuiltInList {
	all := make([]BuiltInList, len(listNames))
	for level := range all {
		all[level] = builtIn(level)
	}
	return all
}

// builtIn reads the list of a level. Each reading is a value of its own.
func builtIn(level int) BuiltInList {
	text, err := listFiles.ReadFile("lists/" + strings.ReplaceAll(listNames[level], " ", "-") + ".toml")
	if err != nil {
		panic(err) // it is part of the program, and so is what it says
	}
	l, err := ReadList(bytes.NewReader(text))
	if err != nil {
		panic(fmt.Sprintf("%s: %v", listNames[level], err))
	}
	return BuiltInList{l, text}
}

// FindList finds a built-in list by its name or its level: "first step", "level 3", "3".
func FindList(name string) (BuiltInList, error) {
	blanks := func(c rune) bool { return strings.ContainsRune(" -_", c) }
	want := strings.Join(strings.FieldsFunc(strings.ToLower(name), blanks), " ")
	for level, known := range listNames {
		if want == known || want == strconv.Itoa(level) {
			return builtIn(level), nil
		}
	}
	return BuiltInList{}, fmt.Errorf("there is no list %q: did you mean %s?", name, quoted(Nearest(want, listNames, 2)))
}
