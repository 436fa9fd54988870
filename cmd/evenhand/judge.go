package main

import (
	"encoding/json"
	"fmt"

	"evenhand/capture"
	"evenhand/scoring"
)

// The facts kept with a take.
const (
	factRequest  = "request"
	factSettings = "settings"
	factVersion  = "version"
)

// settingsFor are the settings of a level named on the command line.
func settingsFor(level string) (scoring.Settings, error) {
	switch l := scoring.Level(level); l {
	case scoring.First, scoring.Middle, scoring.Top:
		return scoring.ForLevel(l), nil
	}
	return scoring.Settings{}, usageError{fmt.Errorf("no level %q: choose first, middle or top", level)}
}

// facts are what is kept with a take: what was asked, the settings it is marked by, and the program's
// version.
func facts(a *asked, s scoring.Settings) (map[string]string, error) {
	settings, err := json.Marshal(s)
	if err != nil {
		return nil, err
	}
	kept := map[string]string{factSettings: string(settings), factVersion: version}
	if a != nil {
		kept[factRequest] = a.against
	}
	return kept, nil
}

// keptRequest is what was asked when the take was recorded.
func keptRequest(take *capture.Take, path string, scores []string) (*asked, error) {
	words, ok := take.Facts[factRequest]
	if !ok {
		return nil, fmt.Errorf("%s: the take does not say what was asked: say it, as in --against \"B flat major scale\"", path)
	}
	a, err := findAsked(words, scores)
	if err != nil {
		return nil, fmt.Errorf("%s: the request kept with the take cannot be read: %w; say it with --against", path, err)
	}
	return a, nil
}

// keptSettings are those that the take was marked by when it was recorded, or else those of usual, so
// that a take has the same marks on any day. What an older take does not know is that of its level.
func keptSettings(take *capture.Take, path string, usual scoring.Settings) (scoring.Settings, error) {
	text, ok := take.Facts[factSettings]
	if !ok {
		return usual, nil
	}
	s, err := readSettings([]byte(text))
	if err != nil {
		return usual, fmt.Errorf("%s: the settings kept with the take cannot be read (%v): choose some with --level", path, err)
	}
	return s, nil
}

// readSettings reads settings over those of the level they name. No number of them can be below 0.
func readSettings(text []byte) (s scoring.Settings, err error) {
	var parts struct {
		Level           string
		Limits, Charges map[string]float64
	}
	if err = json.Unmarshal(text, &parts); err != nil {
		return s, err
	}
	for _, numbers := range []map[string]float64{parts.Limits, parts.Charges} {
		for name, v := range numbers {
			if v < 0 {
				return s, fmt.Errorf("%s is below 0", name)
			}
		}
	}
	if s, err = settingsFor(parts.Level); err != nil {
		return s, err
	}
	return s, json.Unmarshal(text, &s)
}
