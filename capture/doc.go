// Package capture holds what was played: a [Take] of notes and pedals with their times, read from a
// Standard MIDI File, from raw MIDI bytes, or built event by event while somebody plays; and the
// recorder that writes every event to disk as it comes.
//
// All ways in lead through a [Builder], so that a take is the same whichever way it came: [ReadSMF]
// gives it the events of a file, [Bytes] and [ReadBytes] the messages of a stream, and a [Recorder]
// what a port delivers. A recorder's file can be followed while it grows ([Growing]), and what a
// stopped program or machine left unfinished becomes a take again ([Recover]).
//
// Nothing here knows what should have been played, and nothing here needs cgo. Ports are in
// capture/ports.
package capture
