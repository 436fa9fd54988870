//go:build !cgo

package ports

import (
	"errors"
	"strings"
	"testing"
)

func TestWithoutCgoEveryFunctionSaysSo(t *testing.T) {
	_, list := List()
	_, open := Open("", nil, Options{Wait: true})
	_, out := OpenOut("1")
	_, virtual := OpenVirtual("toy")
	for _, err := range []error{list, open, out, virtual} {
		if !errors.Is(err, ErrUnsupported) || strings.Contains(err.Error(), "\n") {
			t.Errorf("got %v", err)
		}
	}
	if Supports(JACK) || Supports(ALSA) {
		t.Error("a system is supported")
	}
}
