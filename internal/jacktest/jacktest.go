//go:build unix

// Package jacktest gives tests a real MIDI system on any machine that has jackd, with or without a
// sound card: a JACK server of their own that runs on its dummy driver, and a toy piano to play on it.
package jacktest

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
)

// Server is a running JACK server, whose name this process and those it starts know from their
// environment.
type Server struct {
	frames int
	lock   *os.File
	keeper *exec.Cmd
	end    io.Closer
	pid    int
}

// keep is the shell script that runs a server for as long as its standard input is open, so that
// none is left behind whatever becomes of the test.
const keep = `"$@" >/dev/null 2>&1 </dev/null & echo $!; read -r _; kill $!; wait`

// name is the server's. A server that crashed, or whose clients did, keeps its place on the machine until
// another of the same name is started.
const name = "evenhand-test"

// claim waits until no other test has a server, by a lock that the server holds too. Clients of one user's
// servers share a database in memory, which a server that starts or ends beside another may take away from
// under the other's clients: that ends them (SIGBUS), or leaves them without a port.
func claim(t testing.TB) *os.File {
	t.Helper()
	lock, err := os.OpenFile(filepath.Join(os.TempDir(), name+".lock"), os.O_CREATE|os.O_RDWR, 0o666)
	if err != nil {
		t.Fatal(err)
	}
	for {
		switch err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err {
		case nil:
			return lock
		case syscall.EINTR:
		default:
			t.Fatalf("waiting for the JACK servers of other tests: %v", err)
		}
	}
}

// Start runs a server of 64 frames a cycle, 1.3 ms, until the test is done. It skips the test where
// there is no jackd or no JACK in this build.
func Start(t testing.TB) *Server {
	t.Helper()
	return StartCycle(t, 64)
}

// StartCycle runs a server of so many frames a cycle, at 48 kHz.
func StartCycle(t testing.TB, frames int) *Server {
	t.Helper()
	if !ports.Supports(ports.JACK) {
		t.Skip("this build is without JACK (run make test, or build with cgo, CGO_CXXFLAGS=-D__UNIX_JACK__ and CGO_LDFLAGS=-ljack): the live check is left out")
	}
	if _, err := exec.LookPath("jackd"); err != nil {
		t.Skip("jackd is not installed (run make test): the live check is left out")
	}
	s := &Server{frames: frames, lock: claim(t)}
	t.Setenv("JACK_DEFAULT_SERVER", name)
	t.Setenv("JACK_NO_START_SERVER", "1")
	t.Cleanup(func() {
		s.stop()
		s.lock.Close()
	})
	s.Run(t)
	return s
}

// Run starts the server, again where it was killed, and waits until it answers.
func (s *Server) Run(t testing.TB) {
	t.Helper()
	s.keeper = exec.Command("sh", "-c", keep, "sh", "jackd", "-n", name, "-r", "-S", "-d", "dummy", "-r", "48000", "-p", strconv.Itoa(s.frames))
	in, err := s.keeper.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := s.keeper.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	s.keeper.ExtraFiles = []*os.File{s.lock}
	if err := s.keeper.Start(); err != nil {
		t.Fatal(err)
	}
	s.end = in
	if _, err := fmt.Fscanln(out, &s.pid); err != nil {
		t.Fatalf("starting jackd: %v", err)
	}
	Eventually(t, "the JACK server answers", func() bool {
		lists, err := ports.List()
		return err == nil && !slices.Contains(lists.Missing, ports.NoServer)
	})
}

// Kill ends the server at once, as a crash would. Run must follow.
func (s *Server) Kill(t testing.TB) {
	t.Helper()
	if err := syscall.Kill(s.pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	s.stop()
}

// stop ends the server in good order where it still runs.
func (s *Server) stop() {
	if s.end == nil {
		return
	}
	s.end.Close()
	// The status of the script tells nothing: it is that of ending the server.
	_ = s.keeper.Wait()
	// What a server that was killed leaves behind. The pattern is well formed.
	left, _ := filepath.Glob("/dev/shm/jack*_" + name + "_*")
	for _, path := range left {
		os.Remove(path)
	}
}

// Piano puts a toy piano of this name on the server until the test is done, or it is closed.
func Piano(t testing.TB, name string) *ports.Out {
	t.Helper()
	out, err := ports.OpenVirtual(name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(out.Close)
	return out
}

// Play plays messages in real time: the first as many seconds from now as its At says.
func Play(t testing.TB, out *ports.Out, messages []capture.Message) {
	t.Helper()
	start := time.Now()
	for _, m := range messages {
		time.Sleep(time.Until(start.Add(m.At)))
		if err := out.Send(m.Status, m.Data1, m.Data2); err != nil {
			t.Fatalf("playing at %v: %v", m.At, err)
		}
	}
}

// Messages are the notes and pedals of a take as a piano sends them, in the order of their times; at one
// time, what ends comes before what begins.
func Messages(take *capture.Take) []capture.Message {
	var messages []capture.Message
	for _, n := range take.Notes {
		messages = append(messages,
			capture.Message{At: n.On, Status: 0x90, Data1: n.Key, Data2: n.Velocity},
			capture.Message{At: n.Off, Status: 0x80, Data1: n.Key, Data2: 64})
	}
	for _, p := range take.Pedals {
		messages = append(messages, capture.Message{At: p.At, Status: 0xB0, Data1: p.Controller, Data2: p.Value})
	}
	slices.SortStableFunc(messages, func(a, b capture.Message) int {
		if a.At != b.At {
			return int(a.At - b.At)
		}
		return int(a.Status&0xF0) - int(b.Status&0xF0)
	})
	return messages
}

// Eventually waits until something is so, and fails the test after a minute: a server without
// real-time scheduling answers slowly on a busy machine.
func Eventually(t testing.TB, what string, so func() bool) {
	t.Helper()
	for end := time.Now().Add(time.Minute); !so(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("a minute has passed and it is not so that %s", what)
		}
	}
}
