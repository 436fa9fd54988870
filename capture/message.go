package capture

import "time"

// Message is one MIDI channel message as it came from a port, a byte stream or a file: a note-on,
// note-off or controller change. System messages never get this far.
type Message struct {
	At           time.Duration // monotonic, from the start of the stream
	Status       byte          // 0x80 to 0xEF, channel in the low four bits
	Data1, Data2 byte
}
