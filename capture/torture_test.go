package capture

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/internal/outside"
)

// torture is what each file of the open collection of MIDI test files (test-midi-files, MIT licence,
// by Jazz-Soft) gives as a take: how many notes and a part of each warning, or the refusal. The
// counts are those of the collection's own descriptions of its files ("a C major scale": 8) where
// they say, and are checked against other readers by TestReadersAgree.
var torture = []struct {
	file     string
	notes    int
	kind     error
	warnings []string
}{
	{"test-2-tracks-type-0.mid", 16, nil, []string{"format 0 has one track and this file has 2"}},
	{"test-2-tracks-type-1.mid", 16, nil, nil},
	{"test-2-tracks-type-2.mid", 8, nil, []string{"2 separate sequences (format 2); only the first"}},
	{"test-all-gm-percussion.mid", 0, ErrNoNotes, []string{"percussion channel (10)"}},
	{"test-all-gm-sounds.mid", 512, nil, nil},
	{"test-all-gm2-sounds.mid", 1060, nil, nil},
	{"test-all-gs-sounds.mid", 5044, nil, nil},
	{"test-all-microsoft-gs-wavetable-synth-sounds.mid", 904, nil, nil},
	{"test-all-xg-sounds.mid", 4560, nil, nil},
	{"test-c-major-scale.mid", 8, nil, nil},
	{"test-control-00-20-bank-select.mid", 4, nil, []string{"4 notes on the percussion channel (10) left out"}},
	{"test-control-40-damper.mid", 8, nil, nil},
	{"test-control-41-portamento.mid", 8, nil, nil},
	{"test-control-54-portamento-control.mid", 1, nil, nil},
	{"test-control-7c-omni-mode-off.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-control-7d-omni-mode-on.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-control-7e-mono-mode-on.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-control-7f-poly-mode-on.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-corrupt-file-extra-byte.mid", 8, nil, []string{"byte 275: 1 byte after the last track passed over"}},
	{"test-corrupt-file-missing-byte.mid", 8, nil, []string{"byte 264: the file breaks off", "byte 267: the track ends here"}},
	{"test-empty-file.mid", 0, ErrNotMIDI, []string{"byte 0: the file is empty"}},
	{"test-empty.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-gm2-doggy-78-00-38-4c.mid", 3, nil, nil},
	{"test-gm2-doggy-79-01-7b.mid", 3, nil, nil},
	{"test-gs-doggy-01-00-7b.mid", 3, nil, nil},
	{"test-illegal-message-all.mid", 8, nil, []string{"byte 186: a system message that has no place in a file is passed over (13 times"}},
	{"test-illegal-message-f1-xx.mid", 8, nil, []string{"byte 215: a system message"}},
	{"test-illegal-message-f2-xx-xx.mid", 8, nil, []string{"byte 220: a system message"}},
	{"test-illegal-message-f3-xx.mid", 8, nil, []string{"byte 212: a system message"}},
	{"test-illegal-message-f4.mid", 8, nil, []string{"byte 204: a system message"}},
	{"test-illegal-message-f5.mid", 8, nil, []string{"byte 204: a system message"}},
	{"test-illegal-message-f6.mid", 8, nil, []string{"byte 207: a system message"}},
	{"test-illegal-message-f8.mid", 8, nil, []string{"byte 207: a system message"}},
	{"test-illegal-message-f9.mid", 8, nil, []string{"byte 204: a system message"}},
	{"test-illegal-message-fa.mid", 8, nil, []string{"byte 200: a system message"}},
	{"test-illegal-message-fb.mid", 8, nil, []string{"byte 203: a system message"}},
	{"test-illegal-message-fc.mid", 8, nil, []string{"byte 199: a system message"}},
	{"test-illegal-message-fd.mid", 8, nil, []string{"byte 204: a system message"}},
	{"test-illegal-message-fe.mid", 8, nil, []string{"byte 209: a system message"}},
	{"test-karaoke-kar.mid", 29, nil, nil},
	{"test-multichannel-chords-0.mid", 24, nil, nil},
	{"test-multichannel-chords-1.mid", 24, nil, nil},
	{"test-multichannel-chords-2.mid", 24, nil, nil},
	{"test-multichannel-chords-3.mid", 24, nil, nil},
	{"test-non-midi-track.mid", 8, nil, nil},
	{"test-not-a-midi-file.mid", 0, ErrNotMIDI, []string{"byte 0: not a midi file"}},
	{"test-note-on-velocity.mid", 9, nil, nil},
	{"test-rpn-00-00-pitch-bend-range.mid", 5, nil, nil},
	{"test-rpn-00-01-fine-tuning.mid", 25, nil, nil},
	{"test-rpn-00-02-coarse-tuning.mid", 8, nil, nil},
	{"test-rpn-00-05-modulation-depth-range.mid", 5, nil, nil},
	{"test-running-status-metaevent.mid", 8, nil, []string{"byte 233: running status goes on after"}},
	{"test-running-status-sysex.mid", 8, nil, []string{"byte 224: running status goes on after"}},
	{"test-silence-all-notes-off.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-silence-end-of-track.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-silence-text-metaevent.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-smpte-offset.mid", 8, nil, nil},
	{"test-sysex-7e-06-01-id-request.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-sysex-7e-09-01-gm1-enable.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-sysex-7e-09-02-gm-disable.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-sysex-7e-09-03-gm2-enable.mid", 0, ErrNoNotes, []string{"no notes"}},
	{"test-sysex-7f-04-03-master-fine-tuning.mid", 5, nil, nil},
	{"test-sysex-7f-04-04-master-coarse-tuning.mid", 8, nil, nil},
	{"test-sysex-7x-08-0x-scale-tuning.mid", 65, nil, nil},
	{"test-sysex-gs-40-1x-15-drum-part-change.mid", 4, nil, []string{"4 notes on the percussion channel (10) left out"}},
	{"test-sysex-gs-40-1x-4x-scale-tuning.mid", 3, nil, nil},
	{"test-syx-7e-06-01-id-request.syx", 0, ErrNotMIDI, []string{"byte 0: not a midi file"}},
	{"test-track-length.mid", 1, nil, nil},
	{"test-vlq-2-byte.mid", 8, nil, nil},
	{"test-vlq-3-byte.mid", 8, nil, nil},
	{"test-vlq-4-byte.mid", 8, nil, nil},
	{"test-xg-doggy-40-00-30.mid", 3, nil, nil},
	{"test-xg-doggy-7e-00-00-54.mid", 3, nil, nil},
}

func TestTorture(t *testing.T) {
	dir := outside.Data(t, "smf_torture", "midi")
	known := map[string]bool{}
	for _, c := range torture {
		known[c.file] = true
		take, err := ReadFile(filepath.Join(dir, c.file))
		if !errors.Is(err, c.kind) {
			t.Errorf("%s: %v, want %v", c.file, err, c.kind)
			continue
		}
		if err != nil {
			if !strings.Contains(err.Error(), c.warnings[0]) || !strings.Contains(err.Error(), c.file+": byte ") || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s: %v, want %q", c.file, err, c.warnings)
			}
			continue
		}
		if len(take.Notes) != c.notes || len(take.Warnings) != len(c.warnings) {
			t.Errorf("%s: %d notes, want %d; warnings %q, want %q", c.file, len(take.Notes), c.notes, take.Warnings, c.warnings)
			continue
		}
		for i, w := range c.warnings {
			if !strings.Contains(take.Warnings[i], w) {
				t.Errorf("%s: warning %q, want %q", c.file, take.Warnings[i], w)
			}
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !known[e.Name()] {
			t.Errorf("%s is not in the table", e.Name())
		}
	}
}
