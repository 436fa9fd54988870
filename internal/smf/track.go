package smf

import "errors"

// The faults that can stand within a track.
var (
	errEnds     = errors.New("the file or track ends within an event")
	errLongTime = errors.New("a time or length of more than four bytes")
	errNoStatus = errors.New("data bytes where a status byte should stand")
	errHighData = errors.New("a data byte above 127")
)

// parser reads the events of one track from data[pos:end].
type parser struct {
	data    []byte
	pos     int
	end     int
	tick    int64
	running byte // the status that a data byte continues, 0 where there is none
	stale   bool // a meta or sysex event has come since, which ends running status (RP-001)
	ended   bool // the end-of-track event was read
	odd     oddity
}

// oddity is something an event has that it should not, and that is read all the same.
type oddity int8

const (
	plain oddity = iota
	longDelta
	staleStatus
	systemMessage
	oddities // how many there are
)

var oddityTexts = [oddities]string{
	longDelta:     "a time written in more than four bytes is read all the same",
	staleStatus:   "running status goes on after a meta or system event, which should end it; read as meant",
	systemMessage: "a system message that has no place in a file is passed over",
}

// next reads one event. It reports false with a nil error at the end-of-track event and for what
// is passed over (odd then says what). After an error the position is where the event started.
func (p *parser) next() (e Event, ok bool, err error) {
	start := p.pos
	p.odd = plain
	defer func() {
		if err != nil {
			p.pos = start
		}
	}()
	delta, err := p.quantity()
	if err != nil {
		return e, false, err
	}
	if p.pos-start > 4 {
		p.odd = longDelta
	}
	if p.pos >= p.end {
		return e, false, errEnds
	}
	e = Event{Tick: p.tick + int64(delta), Offset: int64(start)}
	status := p.data[p.pos]
	switch {
	case status < 0xF0:
		ok, err = true, p.channel(&e, status)
	case status == SysEx || status == Escape || status == Meta:
		ok, err = true, p.content(&e, status)
	default:
		err = p.stray(status)
	}
	if err != nil {
		return e, false, err
	}
	p.tick = e.Tick
	if e.Status == Meta && e.Meta == EndOfTrack {
		p.ended, ok = true, false
	}
	return e, ok, nil
}

// channel reads a channel message, its status given or running.
func (p *parser) channel(e *Event, status byte) error {
	switch {
	case status >= 0x80:
		p.running, p.stale = status, false
		p.pos++
	case p.running == 0:
		return errNoStatus
	case p.stale:
		p.odd = staleStatus
		p.stale = false
	}
	n := dataBytes(p.running)
	if p.pos+n > p.end {
		return errEnds
	}
	e.Status, e.Data = p.running, p.data[p.pos:p.pos+n:p.pos+n]
	for _, d := range e.Data {
		if d >= 0x80 {
			return errHighData
		}
	}
	p.pos += n
	return nil
}

// content reads a meta or system exclusive event, which say their length.
func (p *parser) content(e *Event, status byte) error {
	p.pos++
	e.Status = status
	if status == Meta {
		if p.pos >= p.end {
			return errEnds
		}
		e.Meta = p.data[p.pos]
		p.pos++
	}
	n, err := p.quantity()
	if err != nil {
		return err
	}
	if int(n) > p.end-p.pos {
		return errEnds
	}
	e.Data = p.data[p.pos : p.pos+int(n) : p.pos+int(n)]
	p.pos += int(n)
	p.stale = true
	return nil
}

// stray passes over a system common or real-time message, which has no place in a file, by the
// length it has on a wire (MIDI 1.0).
func (p *parser) stray(status byte) error {
	n := 1
	switch status {
	case 0xF1, 0xF3:
		n = 2
	case 0xF2:
		n = 3
	}
	if p.pos+n > p.end {
		return errEnds
	}
	p.pos += n
	p.stale = true
	p.odd = systemMessage
	return nil
}

func (p *parser) quantity() (uint32, error) {
	v, n := vlq(p.data[p.pos:p.end])
	switch n {
	case 0:
		return 0, errEnds
	case -1:
		return 0, errLongTime
	}
	p.pos += n
	return v, nil
}

// dataBytes is how many data bytes a channel message has (MIDI 1.0): one for program change and
// channel pressure, two for the others.
func dataBytes(status byte) int {
	if status&0xE0 == 0xC0 {
		return 1
	}
	return 2
}

// resyncReach is how many bytes past the start of an event that cannot be read the next good one
// is looked for: two lost or added bytes shift what follows by no more than a few events.
const resyncReach = 24

// resync finds where reading can go on after a damaged event: the nearest byte from which the rest
// of the track reads without any fault, up to its end-of-track event standing where it should. It
// reports false where there is none.
//
// Of a time that is too long only the last byte can be meant: fewer bytes passed over would leave a
// rest of hours.
func (p *parser) resync(why error) (parser, bool) {
	first := 1
	if errors.Is(why, errLongTime) {
		for p.pos+first < p.end && p.data[p.pos+first] >= 0x80 {
			first++
		}
	}
	for skip := first; skip < first+resyncReach && p.pos+skip < p.end; skip++ {
		q := parser{data: p.data, pos: p.pos + skip, end: p.end, tick: p.tick}
		for !q.ended && q.pos < q.end {
			if _, _, err := q.next(); err != nil || q.odd != plain {
				break
			}
		}
		if q.ended && q.pos == q.end {
			return parser{data: p.data, pos: p.pos + skip, end: p.end, tick: p.tick}, true
		}
	}
	return parser{}, false
}
