package capture

import "time"

// SensingTimeout is how long a stream may be silent, once it has sent active sensing, before it
// counts as lost. A sender of active sensing sends something at least every 300 ms; 330 allows for
// its clock (MIDI 1.0, from memory).
const SensingTimeout = 330 * time.Millisecond

// Bytes turns a stream of raw MIDI bytes into messages, a byte at a time (MIDI 1.0): running status
// is resolved, real-time bytes may come anywhere, system exclusive is skipped, system common ends
// running status, and a note-on with velocity 0 becomes a note-off. Of the channel messages, those
// that can touch a take go on: note-on, note-off, controller change.
//
// A byte that is lost, doubled or changed spoils the message it belongs to and, where messages lean on
// one status, those after it for a little: until the next status, the next silence of a tenth of a second
// (no message is taken to have begun before it, and a status that completed none is taken back), or the
// next release that is read as a key 0, which no piano has. What cannot be told from a true one is a
// byte that turned into the status of a message of one data byte; it misleads until the next status.
//
// When the stream is reset, or falls silent after active sensing, all its keys and pedals are let
// go by the messages all notes off and reset all controllers on each channel that was used.
//
// The zero value is ready. Time enters by the arguments only.
type Bytes struct {
	status byte    // running status, 0 where there is none
	before byte    // the one that was good before a status that has not yet completed a message
	proven bool    // the running status has completed a message
	data   [2]byte // of the message under way
	have   int
	skip   bool   // within system exclusive, or data bytes of system common
	used   uint16 // the channels that were heard, a bit each
	lost   int

	sensing bool
	heard   time.Duration // when the last byte came
	begun   time.Duration // when the last byte of the message under way came
}

// halfTimeout is how long a message may wait for its next byte. Its three bytes take 0.96 ms on a
// cable (MIDI 1.0: 31,250 baud, ten bits a byte); the rest is for a busy machine. Chosen by us.
const halfTimeout = 100 * time.Millisecond

// Write takes bytes that came at one time and passes the messages they complete to emit, in order.
func (p *Bytes) Write(at time.Duration, b []byte, emit func(Message)) {
	if len(b) == 0 {
		return
	}
	p.Idle(at, emit)
	p.heard = max(p.heard, at)
	for _, c := range b {
		p.next(at, c, emit)
	}
}

// Idle tells the parser that it is now at, with nothing received. It is to be called a few times
// a second, so that a stream that went silent is noticed.
func (p *Bytes) Idle(at time.Duration, emit func(Message)) {
	if p.sensing && at-p.heard > SensingTimeout {
		p.sensing = false
		p.letGo(p.heard+SensingTimeout, emit)
	}
}

// Half reports whether the stream has stopped within a message.
func (p *Bytes) Half() bool { return p.have > 0 }

// Lost is how many bytes belonged to no message.
func (p *Bytes) Lost() int { return p.lost }

func (p *Bytes) next(at time.Duration, c byte, emit func(Message)) {
	switch {
	case c >= 0xF8:
		p.realTime(at, c, emit)
	case c >= 0x80:
		p.late(at)
		if p.proven || p.have > 0 {
			p.before = p.status
		}
		p.lost += p.have
		p.have, p.begun = 0, at
		p.status, p.skip, p.proven = c, false, false
		if c >= 0xF0 {
			p.status, p.before, p.skip = 0, 0, c < 0xF4 // of system common, F0 to F3 have data
		}
	case p.skip:
	default:
		p.late(at)
		if p.status == 0 {
			p.lost++
			return
		}
		p.begun = at
		p.data[p.have] = c
		if p.have++; p.have < dataLength(p.status) {
			return
		}
		if p.proven && p.status&0xE0 == 0x80 && p.data[0] == 0 {
			p.lost++
			p.have, p.data[0] = 1, c // the velocity of a release, and the next key
			return
		}
		p.have, p.proven = 0, true
		p.complete(at, emit)
	}
}

// late gives up a message whose next byte is overdue, and the status it may have begun with.
func (p *Bytes) late(at time.Duration) {
	if at-p.begun <= halfTimeout {
		return
	}
	p.lost += p.have
	p.have = 0
	if !p.proven && p.status != 0 && p.before != 0 {
		p.lost++
		p.status, p.proven = p.before, true
	}
}

// realTime acts on a system real-time message. It leaves the message under way alone, but for reset.
func (p *Bytes) realTime(at time.Duration, c byte, emit func(Message)) {
	switch c {
	case 0xFE:
		p.sensing = true
	case 0xFF:
		*p = Bytes{used: p.used, lost: p.lost, heard: p.heard}
		p.letGo(at, emit)
	}
}

func (p *Bytes) complete(at time.Duration, emit func(Message)) {
	m := Message{At: at, Status: p.status, Data1: p.data[0], Data2: p.data[1]}
	switch m.Status & 0xF0 {
	case 0x80, 0xB0:
	case 0x90:
		if m.Data2 == 0 {
			m.Status, m.Data2 = 0x80|m.Status&0x0F, releaseVelocity
		}
	default:
		return
	}
	p.used |= 1 << (m.Status & 0x0F)
	emit(m)
}

func (p *Bytes) letGo(at time.Duration, emit func(Message)) {
	for channel := range byte(16) {
		if p.used&(1<<channel) != 0 {
			emit(Message{At: at, Status: 0xB0 | channel, Data1: allNotesOff})
			emit(Message{At: at, Status: 0xB0 | channel, Data1: resetControllers})
		}
	}
	p.used = 0
}

// dataLength is how many data bytes a channel message has.
func dataLength(status byte) int {
	if status&0xE0 == 0xC0 {
		return 1
	}
	return 2
}
