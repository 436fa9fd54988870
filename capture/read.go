package capture

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"evenhand/internal/smf"
)

// Why a file is refused as a take, for errors.Is. The error itself is a *Refused.
var (
	ErrNotMIDI = smf.ErrNotMIDI                     // it is no MIDI file, or a broken one
	ErrTooBig  = smf.ErrTooBig                      // it is larger than any take can be
	ErrNoNotes = errors.New("no notes were played") // it is a MIDI file in which nothing is played
)

var errFolder = errors.New("is a folder; name a file in it")

// Refused is a file that gives no take. Its text is one line: the file, the byte, what is wrong,
// and what to do.
type Refused = smf.Error

// ReadFile reads a take from a Standard MIDI File on disk. The error is a *Refused, or the
// operating system's.
func ReadFile(path string) (*Take, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, &os.PathError{Op: "read", Path: path, Err: errFolder}
	}
	return ReadSMF(f, path)
}

// ReadSMF reads a take from a Standard MIDI File of format 0 or 1 (of format 2 the first sequence
// only, and said); name is what faults are told under. Times are exact to the microsecond, whatever
// tempo changes the file has, and count from its start. What is odd in the file is in Warnings; see
// Builder for how its messages are taken. The error is r's own, or a *Refused.
func ReadSMF(r io.Reader, name string) (*Take, error) {
	f, err := smf.Read(r, name)
	if err != nil {
		return nil, err
	}
	return fromSMF(f, name)
}

func fromSMF(f *smf.File, name string) (*Take, error) {
	events, end := f.Timeline()
	kept, fault := findKept(events)
	b := newBuilder(kept.take(), time.Microsecond)
	for _, e := range events {
		if m, ok := message(e); ok {
			b.Add(m)
		}
	}
	b.Advance(end)
	t := b.Take()
	if len(t.Notes) == 0 {
		return nil, noNotes(f, name, b.percussion)
	}
	warnings := kept.Warnings
	for _, w := range f.Warnings {
		warnings = append(warnings, fmt.Sprintf("byte %d: %s", w.Offset, w.Reason))
	}
	if fault != "" {
		warnings = append(warnings, fault)
	}
	t.Warnings = append(warnings, t.Warnings...)
	for _, i := range kept.Open {
		if i >= 0 && i < len(t.Notes) {
			t.Notes[i].Open = true
		}
	}
	return t, nil
}

// message is the channel message of an event, where it is one that can touch a take.
func message(e smf.Timed) (Message, bool) {
	switch e.Status & 0xF0 {
	case 0x80, 0x90, 0xB0:
		return Message{At: e.At, Status: e.Status, Data1: e.Data[0], Data2: e.Data[1]}, true
	}
	return Message{}, false
}

func noNotes(f *smf.File, name string, percussion int) error {
	reason := "nothing is played in it: no notes; record the take again"
	if percussion > 0 {
		reason = "all its notes are on the percussion channel (10): no piano notes; record the take on another channel"
	}
	offset := f.Tracks[0].Offset
	if len(f.Warnings) > 0 {
		w := f.Warnings[0]
		offset, reason = w.Offset, w.Reason+"; "+reason
	}
	return &Refused{Name: name, Offset: offset, Reason: reason, Kind: ErrNoNotes}
}

// keptPrefix begins the text event in which a take keeps what MIDI has no place for. What follows
// it is kept as one JSON object.
const keptPrefix = "evenhand:"

// kept is what the text event holds. Every field may be absent.
type kept struct {
	Device   string            `json:"device,omitempty"`
	Started  time.Time         `json:"started,omitzero"`
	Facts    map[string]string `json:"facts,omitempty"`
	Period   time.Duration     `json:"period_ns,omitempty"`
	Open     []int             `json:"open,omitempty"` // indices of the notes that were never released
	Warnings []string          `json:"warnings,omitempty"`
}

func (k kept) take() Take {
	return Take{Device: k.Device, Started: k.Started, Facts: k.Facts, Period: k.Period}
}

// findKept looks for the text event and says where it cannot be read.
func findKept(events []smf.Timed) (k kept, fault string) {
	for _, e := range events {
		if e.Status != smf.Meta || e.Meta != smf.Text || !bytes.HasPrefix(e.Data, []byte(keptPrefix)) {
			continue
		}
		if err := json.Unmarshal(e.Data[len(keptPrefix):], &k); err != nil {
			return kept{}, fmt.Sprintf("byte %d: what was kept with the take (its request and settings) cannot be read", e.Offset)
		}
		return k, ""
	}
	return k, ""
}
