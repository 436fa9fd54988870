package capture

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"hash/crc32"
	"io"
	"time"
)

// A growing file is a take while it is being played. It begins with a line of text and goes on in
// records, each
//
//	length of the body   4 bytes, little-endian
//	CRC-32C of the body  4 bytes, little-endian
//	body                 a byte for its kind, then its content
//
// The first record is the header, JSON of what is known of the take (kind 'h'); then come messages
// ('m': nanoseconds from the start in 8 bytes, little-endian, and the three MIDI bytes); the last
// ('e', no content) says that nothing more will come. A record that is cut off or whose check does
// not fit is the torn end of a recording that the machine did not live to finish.
const growingMagic = "evenhand growing take 1\n"

const (
	headerRecord  = 'h'
	messageRecord = 'm'
	endRecord     = 'e'

	recordHead    = 8
	messageLength = 1 + 8 + 3
	maxRecord     = 1 << 20 // a header with a score's whole path and settings is some kilobytes
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

func appendRecord(b []byte, body []byte) []byte {
	b = binary.LittleEndian.AppendUint32(b, uint32(len(body)))
	b = binary.LittleEndian.AppendUint32(b, crc32.Checksum(body, castagnoli))
	return append(b, body...)
}

func appendMessage(b []byte, m Message) []byte {
	body := append(make([]byte, 0, messageLength), messageRecord)
	body = binary.LittleEndian.AppendUint64(body, uint64(m.At))
	return appendRecord(b, append(body, m.Status, m.Data1, m.Data2))
}

// growingHead is the start of a growing file: the line of text and the header record.
func growingHead(about Take) ([]byte, error) {
	k := kept{Device: about.Device, Started: about.Started, Facts: about.Facts, Period: about.Period}
	text, err := json.Marshal(k)
	if err != nil {
		return nil, err
	}
	if len(text) >= maxRecord {
		return nil, errors.New("the facts of the take are too long to be kept with it")
	}
	return appendRecord([]byte(growingMagic), append([]byte{headerRecord}, text...)), nil
}

// ErrTorn says that a growing file is damaged from here on.
var ErrTorn = errors.New("the recording is torn here")

// Growing reads a growing file, also while another process goes on writing it.
type Growing struct {
	r     io.ReaderAt
	at    int64
	about Take
	ended bool
}

// OpenGrowing reads the head of a growing file. The error is io.EOF where it is not all there yet,
// ErrTorn where it is no such file, or r's.
func OpenGrowing(r io.ReaderAt) (*Growing, error) {
	g := &Growing{r: r}
	magic := make([]byte, len(growingMagic))
	if _, err := r.ReadAt(magic, 0); err != nil {
		return nil, err
	}
	if string(magic) != growingMagic {
		return nil, ErrTorn
	}
	g.at = int64(len(magic))
	body, err := g.record()
	if err != nil {
		return nil, err
	}
	var k kept
	if body[0] != headerRecord || json.Unmarshal(body[1:], &k) != nil {
		return nil, ErrTorn
	}
	g.about = k.take()
	return g, nil
}

// About is the take as it was before its first note: Device, Started, Facts and Period.
func (g *Growing) About() Take { return g.about }

// Ended reports whether the end of the recording has been read.
func (g *Growing) Ended() bool { return g.ended }

// Next reads the next message. The error is io.EOF where there is none yet, in which case it may
// be asked again when the file has grown, unless Ended; ErrTorn where the file is damaged; or r's.
func (g *Growing) Next() (Message, error) {
	if g.ended {
		return Message{}, io.EOF
	}
	start := g.at
	body, err := g.record()
	if err != nil {
		return Message{}, err
	}
	switch {
	case body[0] == endRecord:
		g.ended = true
		return Message{}, io.EOF
	case body[0] != messageRecord || len(body) != messageLength:
		g.at = start
		return Message{}, ErrTorn
	}
	return Message{
		At:     time.Duration(binary.LittleEndian.Uint64(body[1:])),
		Status: body[9], Data1: body[10], Data2: body[11],
	}, nil
}

// record reads the record at hand, which has at least one byte, and goes past it.
func (g *Growing) record() ([]byte, error) {
	var head [recordHead]byte
	if _, err := g.r.ReadAt(head[:], g.at); err != nil {
		return nil, err
	}
	n := binary.LittleEndian.Uint32(head[:])
	if n == 0 || n > maxRecord {
		return nil, ErrTorn
	}
	body := make([]byte, n)
	if m, err := g.r.ReadAt(body, g.at+recordHead); m < len(body) {
		return nil, err
	}
	if crc32.Checksum(body, castagnoli) != binary.LittleEndian.Uint32(head[4:]) {
		return nil, ErrTorn
	}
	g.at += recordHead + int64(n)
	return body, nil
}
