// Package capture holds what was played: a [Take] of notes and pedals with their times, read from a
// Standard MIDI File, from raw MIDI bytes, or built event by event while somebody plays; and the
// recorder that writes every event to disk as it comes.
//
// Nothing here knows what should have been played, and nothing here needs cgo. Ports are in
// capture/ports.
package capture
