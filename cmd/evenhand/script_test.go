package main

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"evenhand/capture"
	"evenhand/scoring"
)

var update = flag.Bool("update", false, "rewrite the expected outputs in testdata/script")

func TestMain(m *testing.M) {
	testscript.Main(cleaned{m}, map[string]func(){"evenhand": main})
}

// cleaned runs the tests and removes what they built.
type cleaned struct{ m *testing.M }

func (c cleaned) Run() int {
	// No test writes into the journal of whoever runs it.
	data, err := os.MkdirTemp("", "evenhand")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_DATA_HOME", data)
	defer func() {
		os.RemoveAll(data)
		if built != "" {
			os.RemoveAll(built)
		}
	}()
	return c.m.Run()
}

// TestScripts runs the program as its users do. The scripts have commands of their own besides the usual:
//
//	smf notes.txt take.mid   makes a take of readable lines: see writtenTake
//	bytes hex.txt raw.bin    makes a file of bytes written in hexadecimal
//	pretty file              sets a file of JSON lines out over many lines
//	status 2 program args    runs a program that is to end with this status
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script", UpdateScripts: *update, RequireExplicitExec: true, RequireUniqueNames: true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_DATA_HOME", e.WorkDir+"/data")
			// No server of the machine's is looked at.
			e.Setenv("JACK_DEFAULT_SERVER", "none-for-scripts")
			e.Setenv("JACK_NO_START_SERVER", "1")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"smf": func(ts *testscript.TestScript, _ bool, args []string) {
				take, err := writtenTake(ts.ReadFile(args[0]))
				ts.Check(err)
				var b bytes.Buffer
				ts.Check(capture.WriteSMF(&b, take))
				ts.Check(os.WriteFile(ts.MkAbs(args[1]), b.Bytes(), 0o644))
			},
			"bytes": func(ts *testscript.TestScript, _ bool, args []string) {
				b, err := hex.DecodeString(strings.Join(strings.Fields(ts.ReadFile(args[0])), ""))
				ts.Check(err)
				ts.Check(os.WriteFile(ts.MkAbs(args[1]), b, 0o644))
			},
			"pretty": func(ts *testscript.TestScript, _ bool, args []string) {
				var b bytes.Buffer
				ts.Check(json.Indent(&b, []byte(ts.ReadFile(args[0])), "", "  "))
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o644))
			},
			"status": func(ts *testscript.TestScript, _ bool, args []string) {
				var exit *exec.ExitError
				err := ts.Exec(args[1], args[2:]...)
				if !errors.As(err, &exit) || strconv.Itoa(exit.ExitCode()) != args[0] {
					ts.Fatalf("%q: %v, want status %s", args[1:], err, args[0])
				}
			},
		},
	})
}

// writtenTake reads a take from lines:
//
//	asked C major scale     the request kept with it
//	level first             the settings kept with it
//	settings {"level":7}    these settings, as they are
//	period 20ms             the grain of its clock
//	every 0.25              seconds between what is struck from here on
//	velocity 64             of what is struck from here on: 64, 65, 66 in turn
//	hold 0.25               seconds that keys are held from here on
//	wait 1.5                nothing for so long
//	C4 D4+F4 E♭4@80 E4~30   keys struck one after another, two at once, louder, 30 ms late
//
// It begins half a second in.
func writtenTake(text string) (*capture.Take, error) {
	w := &writing{every: 0.25, velocity: 64, hold: 0.25, at: 0.5, take: capture.Take{Facts: map[string]string{}}}
	for i, line := range strings.Split(text, "\n") {
		line, _, _ = strings.Cut(line, "#")
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		if err := w.line(words, strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(line), words[0]))); err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	return &w.take, nil
}

type writing struct {
	every, hold, at float64
	velocity        int
	take            capture.Take
}

func (w *writing) line(words []string, rest string) (err error) {
	number := func(v *float64) error {
		*v, err = strconv.ParseFloat(rest, 64)
		return err
	}
	switch words[0] {
	case "asked":
		w.take.Facts[factRequest] = rest
	case "settings":
		w.take.Facts[factSettings] = rest
	case "level":
		b, err := json.Marshal(scoring.ForLevel(scoring.Level(rest)))
		w.take.Facts[factSettings] = string(b)
		return err
	case "period":
		w.take.Period, err = time.ParseDuration(rest)
	case "every":
		return number(&w.every)
	case "hold":
		return number(&w.hold)
	case "velocity":
		w.velocity, err = strconv.Atoi(rest)
	case "wait":
		var pause float64
		err = number(&pause)
		w.at += pause
	default:
		for _, chord := range words {
			for _, note := range strings.Split(chord, "+") {
				if err := w.strike(note); err != nil {
					return err
				}
			}
			w.at += w.every
		}
	}
	return err
}

func (w *writing) strike(note string) error {
	name, late, isLate := strings.Cut(note, "~")
	name, loud, isLoud := strings.Cut(name, "@")
	n := capture.Note{Velocity: uint8(w.velocity + len(w.take.Notes)%3)}
	key, err := keyNumber(name)
	n.Key = uint8(key)
	if err == nil && isLoud {
		var v int
		v, err = strconv.Atoi(loud)
		n.Velocity = uint8(v)
	}
	at := w.at
	if err == nil && isLate {
		var ms float64
		ms, err = strconv.ParseFloat(late, 64)
		at += ms / 1000
	}
	n.On = capture.RoundTick(time.Duration(at * float64(time.Second)))
	n.Off = capture.RoundTick(n.On + time.Duration(w.hold*float64(time.Second)))
	w.take.Notes = append(w.take.Notes, n)
	return err
}

// keyNumber is the MIDI key of a note as it is written in lessons: C4 is 60.
func keyNumber(name string) (int, error) {
	steps := map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}
	if name == "" {
		return 0, fmt.Errorf("no note")
	}
	step, known := steps[name[0]]
	alter := strings.Count(name, "♯") + strings.Count(name, "#") - strings.Count(name, "♭")
	octave, err := strconv.Atoi(strings.Trim(name[1:], "♯#♭"))
	if !known || err != nil {
		return 0, fmt.Errorf("no note %q", name)
	}
	return 12*(octave+1) + step + alter, nil
}

func noteOn(at time.Duration, key byte) capture.Message {
	return capture.Message{At: at, Status: 0x90, Data1: key, Data2: 64}
}

func noteOff(at time.Duration, key byte) capture.Message {
	return capture.Message{At: at, Status: 0x80, Data1: key, Data2: 64}
}
