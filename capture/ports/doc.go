// Package ports lists, opens and watches the MIDI ports of the machine: ALSA and JACK on Linux,
// Core MIDI, or the Windows multimedia system. It is the only package that needs cgo. Built
// without it, or for a system RtMidi does not know, every function returns [ErrUnsupported].
//
// # Time
//
// An [In] stamps each message by adding up the time differences the driver gives as it takes a
// message from the system, in whole microseconds, and holds that sum against the monotonic clock of
// the process each time it looks: the sum has none of the delay of being read by a goroutine, the
// clock keeps the sum honest and carries it over a gap in the connection. Measured over JACK with
// 64 frames a cycle on an idle machine, 200 notes 10 ms apart, three runs: intervals had a standard
// deviation of 0.66 to 0.69 ms by our own input and 0.71 to 0.78 ms by RtMidi's. 10 ms are 7.5 cycles,
// which a sender can only tell as 7 or 8: that alone is 0.67 ms.
//
// # Whose ends
//
// On JACK both ends are our own. RtMidi's output frees its buffer while the server's thread may still
// be reading it. Its input has either a queue, which must be looked at again and again, or a callback,
// which in its binding is Go code on the server's thread, where the garbage collector could make it
// late for everybody, and which fails when a port is closed while notes arrive. Ours leaves the
// messages in a queue and writes a byte to a pipe, so that nothing runs while nobody plays.
//
// On all other systems both are RtMidi's, and the queue is looked at: every 2 ms, and after a silence
// every 20 ms. Tests try that on JACK too.
//
// # What the driver does not say
//
// RtMidi does not tell when a piano is unplugged or a JACK server ends, so an [In] looks at the list
// of ports again every half second. Its error texts are freed before they can be read; the ones
// here are our own.
package ports
