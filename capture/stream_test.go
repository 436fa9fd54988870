package capture

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"testing/synctest"
	"time"
)

func TestReadBytes(t *testing.T) {
	broken := errors.New("input/output error")
	for _, c := range []struct {
		name string
		r    io.Reader
		err  error
		n    int
	}{
		{"whole", bytes.NewReader([]byte{0x90, 60, 80, 60, 0}), nil, 2},
		{"byte by byte", iotest.OneByteReader(bytes.NewReader([]byte{0x90, 60, 80, 60, 0})), nil, 2},
		{"data with the end", iotest.DataErrReader(bytes.NewReader([]byte{0x90, 60, 80})), nil, 1},
		{"half a note", bytes.NewReader([]byte{0x90, 60, 80, 62}), ErrHalfMessage, 1},
		{"unplugged", io.MultiReader(bytes.NewReader([]byte{0x90, 60, 80}), iotest.ErrReader(broken)), broken, 1},
		{"nothing", strings.NewReader(""), nil, 0},
	} {
		n := 0
		err := ReadBytes(t.Context(), c.r, time.Now, func(Message) { n++ })
		if !errors.Is(err, c.err) || n != c.n {
			t.Errorf("%s: %d messages, %v; want %d, %v", c.name, n, err, c.n, c.err)
		}
	}
}

// Messages bear the time their last byte came, and a stream that falls silent after active sensing
// lets its keys go without another byte.
func TestReadBytesTimes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r, w := io.Pipe()
		go func() {
			time.Sleep(50 * ms)
			_, _ = w.Write([]byte{0x90, 60})
			time.Sleep(7 * ms)
			_, _ = w.Write([]byte{80, 0xFE})
			time.Sleep(time.Second)
			_ = w.Close()
		}()
		var got []string
		err := ReadBytes(t.Context(), r, time.Now, func(m Message) { got = append(got, show(m)) })
		if want := "57:903c50 387:b07b00 387:b07900"; err != nil || strings.Join(got, " ") != want {
			t.Errorf("%v, %v; want %s", got, err, want)
		}
	})
}

func TestReadBytesStops(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r, w := io.Pipe()
		ctx, cancel := context.WithCancel(t.Context())
		go func() {
			_, _ = w.Write([]byte{0x90, 60, 80})
			time.Sleep(time.Second)
			cancel()
		}()
		n := 0
		if err := ReadBytes(ctx, r, time.Now, func(Message) { n++ }); !errors.Is(err, context.Canceled) || n != 1 {
			t.Errorf("%d messages, %v", n, err)
		}
		_ = r.Close() // frees the goroutine that still reads
	})
}
