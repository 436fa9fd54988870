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
// 64 frames a cycle, 400 notes 20 ms apart: intervals by the sum had a standard deviation of
// 1.25 ms, by the clock at the moment of reading 1.56 ms, by the clock in a callback on the
// driver's thread 0.93 ms, which on a machine without real-time scheduling is the sender's own.
//
// Messages are taken from the driver's queue, not by its callback. No Go code then runs on the
// sound server's real-time thread, where the garbage collector could make it late for everybody,
// and a port can be closed while notes arrive: the callback's table of ports is emptied before the
// port is silent, and the next note would end the program.
//
// Outputs on JACK are our own and not RtMidi's, which frees its buffer while the server's thread may
// still be reading it.
//
// # What the driver does not say
//
// RtMidi does not tell when a piano is unplugged or a JACK server ends, so an [In] looks at the list
// of ports again every half second. Its error texts are freed before they can be read; the ones
// here are our own.
package ports
