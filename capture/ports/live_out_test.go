//go:build cgo && (linux || darwin)

package ports_test

import (
	"fmt"
	"os"
	"os/exec"
	"testing"

	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv/imported/rtmidi"

	"evenhand/capture/ports"
	"evenhand/internal/jacktest"
)

func TestLiveOut(t *testing.T) {
	jacktest.Start(t)
	sound, err := rtmidi.NewMIDIIn(rtmidi.APIUnixJack, "Toy Organ", 16)
	if err != nil {
		t.Fatal(err)
	}
	defer sound.Destroy()
	if err := sound.OpenVirtualPort("in"); err != nil {
		t.Fatal(err)
	}
	out, err := ports.OpenOut("toy organ")
	if err != nil {
		t.Fatal(err)
	}
	if err := out.Send(0x90, 60, 1); err != nil {
		t.Fatal(err)
	}
	out.Close()
	out.Close()
	jacktest.Eventually(t, "the note has come out", func() bool {
		b, _, err := sound.Message()
		return err == nil && string(b) == "\x90\x3C\x01"
	})
	if err := out.Send(0x90, 60, 1); err == nil {
		t.Error("a closed output sends")
	}
	if _, err := ports.OpenOut("spinet"); err == nil {
		t.Error("an output that is not there opens")
	}
}

// TestNothingIsPrinted runs itself in a process of its own, whose output it reads, with no JACK server
// to be found.
func TestNothingIsPrinted(t *testing.T) {
	if os.Getenv("PRINT_NOTHING") != "" {
		if _, err := ports.List(); err != nil {
			fmt.Println(err)
		}
		ports.Open("", nil, ports.Options{})
		ports.OpenOut("")
		os.Exit(0)
	}
	for _, server := range []string{"", "none-of-this-name"} {
		t.Setenv("JACK_DEFAULT_SERVER", server)
		cmd := exec.Command(os.Args[0], "-test.run=^TestNothingIsPrinted$")
		cmd.Env = append(os.Environ(), "PRINT_NOTHING=1")
		if out, err := cmd.CombinedOutput(); err != nil || len(out) > 0 {
			t.Errorf("server %q: printed %q, %v", server, out, err)
		}
	}
}
