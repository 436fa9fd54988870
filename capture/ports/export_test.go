//go:build cgo && (linux || darwin || windows)

package ports

import "evenhand/capture"

// OpenByRtMidi is [Open] with RtMidi's input on JACK too.
func OpenByRtMidi(choice string, message func(capture.Message), options Options) (*In, error) {
	if _, err := newDriver(); err != nil {
		return nil, err
	}
	return openIn(native{byRtMidi: true}, choice, message, options)
}
