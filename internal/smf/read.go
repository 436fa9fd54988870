package smf

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
)

// The bounds of what is read. A pianist's hour is some 50,000 events and 300 KB.
const (
	MaxBytes  = 16 << 20
	MaxEvents = 1 << 20
)

// Read reads a whole file from r; name is what faults are told under. It reads at most MaxBytes
// bytes. The error is r's own, or an *Error.
func Read(r io.Reader, name string) (*File, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	return Parse(data, name)
}

// Parse reads a file from its bytes, which the result goes on using. The error is an *Error.
//
// Formats 0, 1 and 2 are read, bare or wrapped in RIFF (RMID). Chunks of unknown kinds are skipped
// as the specification asks. A wrong track length, a missing end of track, a wrong count of tracks,
// running status where it should have ended, system messages inside a track, and bytes that
// cannot be understood are passed over with a warning.
func Parse(data []byte, name string) (*File, error) { return parse(data, name, MaxEvents) }

func parse(data []byte, name string, maxEvents int) (*File, error) {
	r := &reader{data: data, faults: faults{name: name}, left: maxEvents}
	if len(data) > MaxBytes {
		return nil, r.refuse(ErrTooBig, MaxBytes, "more than %d MB is no piano take; give a smaller file", MaxBytes>>20)
	}
	if err := r.header(); err != nil {
		return nil, err
	}
	if err := r.tracks(); err != nil {
		return nil, err
	}
	r.checkMetas()
	r.file.Warnings = r.list
	return &r.file, nil
}

type reader struct {
	faults
	data     []byte
	pos      int
	head     int // where the header begins, which in a RIFF file is not at 0
	file     File
	declared int // how many tracks the header says
	left     int // how many more events may come, tracks among them
}

const headerLength = 14 // "MThd", a length of 6, format, tracks, division

// header reads the MThd chunk, looking into a RIFF wrapping first.
func (r *reader) header() error {
	if len(r.data) == 0 {
		return r.refuse(ErrNotMIDI, 0, "the file is empty; save the take again")
	}
	r.unwrap()
	r.head = r.pos
	b := r.data[r.pos:]
	if len(b) < 4 || string(b[:4]) != "MThd" {
		return r.refuse(ErrNotMIDI, r.pos, "not a midi file (it does not begin with MThd); give a .mid file")
	}
	if len(b) < headerLength {
		return r.refuse(ErrNotMIDI, len(r.data), "the midi file ends within its header; save or copy it again")
	}
	n := binary.BigEndian.Uint32(b[4:])
	if n < 6 {
		return r.refuse(ErrNotMIDI, r.pos+4, "the midi header says it is %d bytes long and must be 6; save the file again", n)
	}
	r.file.Format = int(binary.BigEndian.Uint16(b[8:]))
	r.declared = int(binary.BigEndian.Uint16(b[10:]))
	r.file.Division = Division(binary.BigEndian.Uint16(b[12:]))
	if !r.file.Division.valid() {
		return r.refuse(ErrNotMIDI, r.pos+12, "the midi header gives its ticks no length (division 0x%04x), so no time can be told; save the file again", uint16(r.file.Division))
	}
	if f, _ := r.file.Division.SMPTE(); f != 0 && f != 24 && f != 25 && f != 29 && f != 30 {
		r.add(r.pos+12, "%d frames to the second is none of the standard rates; taken as it stands", f)
	}
	if r.file.Format > 2 {
		r.add(r.pos+8, "format %d is unknown; read as format 1", r.file.Format)
		r.file.Format = 1
	}
	if int64(n) > 6 {
		r.add(r.pos+4, "the header is longer than this version of the format; the rest of it is passed over")
	}
	next := int64(r.pos) + 8 + int64(n)
	if next > int64(len(r.data)) {
		next = int64(r.pos + headerLength)
	}
	r.pos = int(next)
	return nil
}

// unwrap goes to the data chunk of a RIFF file of the form RMID (RP-029).
func (r *reader) unwrap() {
	d := r.data
	if len(d) < 12 || string(d[:4]) != "RIFF" || string(d[8:12]) != "RMID" {
		return
	}
	for pos := 12; pos+8 <= len(d); {
		n := int64(binary.LittleEndian.Uint32(d[pos+4:]))
		if string(d[pos:pos+4]) == "data" {
			r.pos = pos + 8
			if end := int64(r.pos) + n; end <= int64(len(d)) {
				r.data = d[:end]
			}
			return
		}
		next := int64(pos) + 8 + n + n&1
		if next > int64(len(d)) {
			return
		}
		pos = int(next)
	}
}

// tracks walks the chunks after the header.
func (r *reader) tracks() error {
	for r.pos < len(r.data) {
		if !r.chunkAt(r.pos) {
			if !r.seek() {
				break
			}
			continue
		}
		if string(r.data[r.pos:r.pos+4]) != "MTrk" {
			r.skipChunk()
			continue
		}
		if err := r.count(); err != nil {
			return err
		}
		if err := r.track(); err != nil {
			return err
		}
	}
	switch n := len(r.file.Tracks); {
	case n == 0:
		return r.refuse(ErrNotMIDI, r.pos, "the midi file holds no track; save it again")
	case n != r.declared:
		r.add(r.head+10, "the header's count of tracks (%d) is wrong; the file has %d and all are read", r.declared, n)
	case r.file.Format == 0 && n > 1:
		r.add(r.head+8, "format 0 has one track and this file has %d; all are read", n)
	}
	if n := len(r.file.Tracks); r.file.Format == 2 && n > 1 {
		r.add(r.head+8, "this file holds %d separate sequences (format 2); only the first is taken", n)
	}
	return nil
}

// chunkAt reports whether a chunk begins at pos: four printable letters and a length, which fits
// the file unless it is a track's.
func (r *reader) chunkAt(pos int) bool {
	if pos < 0 || pos+8 > len(r.data) {
		return false
	}
	if string(r.data[pos:pos+4]) == "MTrk" {
		return true
	}
	for _, c := range r.data[pos : pos+4] {
		if c < 0x20 || c > 0x7E {
			return false
		}
	}
	return int64(pos)+8+r.length(pos) <= int64(len(r.data))
}

func (r *reader) length(pos int) int64 { return int64(binary.BigEndian.Uint32(r.data[pos+4:])) }

func (r *reader) skipChunk() { r.pos += 8 + int(r.length(r.pos)) }

// seek goes to the next track after bytes that are no chunk.
func (r *reader) seek() bool {
	i := bytes.Index(r.data[r.pos:], []byte("MTrk"))
	if i < 0 {
		r.add(r.pos, "%s after the last track passed over", bytesOf(len(r.data)-r.pos))
		r.pos = len(r.data)
		return false
	}
	r.add(r.pos, "%s before the next track passed over", bytesOf(i))
	r.pos += i
	return r.chunkAt(r.pos) || r.giveUp()
}

// giveUp ends the walk at a track header that is cut off.
func (r *reader) giveUp() bool {
	r.add(r.pos, "the file ends within the head of a track")
	r.pos = len(r.data)
	return false
}

// track reads one MTrk chunk and goes to what follows it.
func (r *reader) track() error {
	start := r.pos
	body := start + 8
	declared := int64(body) + r.length(start)
	p := parser{data: r.data, pos: body, end: r.bound(body, declared)}
	track := Track{Offset: int64(start)}
	var odd, first [oddities]int // how often each was met, and where first
	for !p.ended && p.pos < p.end {
		at := p.pos
		e, ok, err := p.next()
		if err != nil {
			if !r.mend(&p, err) {
				break
			}
			continue
		}
		if p.odd != plain {
			if odd[p.odd]++; odd[p.odd] == 1 {
				first[p.odd] = at
			}
		}
		if !ok {
			continue
		}
		if err := r.count(); err != nil {
			return err
		}
		track.Events = append(track.Events, e)
	}
	r.tellOdd(odd, first)
	track.End = p.tick
	r.file.Tracks = append(r.file.Tracks, track)
	r.pos = r.after(&p, declared)
	return nil
}

// tellOdd warns of what was odd in a track: each thing once, where it was first met.
func (r *reader) tellOdd(times, first [oddities]int) {
	for o, n := range times {
		switch {
		case n == 1:
			r.add(first[o], "%s", oddityTexts[o])
		case n > 1:
			r.add(first[o], "%s (%d times in this track)", oddityTexts[o], n)
		}
	}
}

// count takes one event or track off what may come, and refuses what is more.
func (r *reader) count() error {
	if r.left == 0 {
		return r.refuse(ErrTooBig, r.pos, "this many events are no piano take; give a smaller file")
	}
	r.left--
	return nil
}

// bound is where the events of a track must end: its declared end where the file bears that out,
// else the next track or the end of the file.
func (r *reader) bound(body int, declared int64) int {
	if declared == int64(len(r.data)) || declared < int64(len(r.data)) && r.chunkAt(int(declared)) {
		return int(declared)
	}
	if i := bytes.Index(r.data[body:], []byte("MTrk")); i >= 0 {
		return body + i
	}
	return len(r.data)
}

// mend deals with an event that cannot be read, by finding where reading can go on. It reports
// false where the rest of the track is lost.
func (r *reader) mend(p *parser, why error) bool {
	if errors.Is(why, errEnds) && p.end == len(r.data) {
		r.add(p.pos, "the file breaks off within an event; what came before is read")
		p.pos, p.ended = p.end, true
		return false
	}
	if q, ok := p.resync(why); ok {
		r.add(p.pos, "%v; %s passed over, and notes near here may be wrong or missing", why, bytesOf(q.pos-p.pos))
		*p = q
		return true
	}
	r.add(p.pos, "%v; the rest of this track (%s) is not read, and the notes just before may be wrong", why, bytesOf(p.end-p.pos))
	p.pos, p.ended = p.end, true
	return false
}

// after is where the next chunk begins, and warns where the track's length was wrong.
func (r *reader) after(p *parser, declared int64) int {
	switch {
	case !p.ended:
		r.add(p.end, "the track has no end-of-track event; it is taken to end here")
	case p.pos < p.end && int64(p.end) == declared:
		r.add(p.pos, "%s after the end of the track passed over", bytesOf(p.end-p.pos))
		return p.end
	}
	if int64(p.pos) != declared {
		r.add(p.pos, "the track ends here, though its head says byte %d", declared)
	}
	return p.pos
}

// checkMetas warns of meta events that would change times and cannot.
func (r *reader) checkMetas() {
	for _, t := range r.file.Tracks {
		for i := range t.Events {
			e := &t.Events[i]
			if _, ok := e.tempo(); !ok && e.Status == Meta && e.Meta == Tempo {
				r.add(int(e.Offset), "a tempo event that gives no tempo is passed over")
			}
		}
	}
}
