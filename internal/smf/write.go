package smf

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
)

// Write writes f to w: the header, and each track with an end-of-track event at its End. Status
// bytes are written in full, never running, so that a damaged byte spoils one event only. A gap
// longer than a delta time can hold is bridged with empty text events, which any program passes
// over. The error is w's, or says which event cannot be written.
func (f *File) Write(w io.Writer) error {
	if len(f.Tracks) > 0xFFFF {
		return fmt.Errorf("%d tracks do not fit a midi file", len(f.Tracks))
	}
	var b bytes.Buffer
	b.WriteString("MThd")
	for _, v := range []any{uint32(6), uint16(f.Format), uint16(len(f.Tracks)), uint16(f.Division)} {
		_ = binary.Write(&b, binary.BigEndian, v) // a bytes.Buffer takes all
	}
	for i := range f.Tracks {
		body, err := f.Tracks[i].body()
		if err != nil {
			return fmt.Errorf("track %d: %w", i+1, err)
		}
		b.WriteString("MTrk")
		_ = binary.Write(&b, binary.BigEndian, uint32(len(body)))
		b.Write(body)
	}
	_, err := w.Write(b.Bytes())
	return err
}

func (t *Track) body() ([]byte, error) {
	var b []byte
	var tick int64
	for i := range t.Events {
		e := &t.Events[i]
		if e.Tick < tick {
			return nil, fmt.Errorf("event %d stands before the one in front of it", i+1)
		}
		b = appendDelta(b, e.Tick-tick)
		tick = e.Tick
		var err error
		if b, err = e.append(b); err != nil {
			return nil, fmt.Errorf("event %d: %w", i+1, err)
		}
	}
	b = appendDelta(b, max(0, t.End-tick))
	return append(b, Meta, EndOfTrack, 0), nil
}

func appendDelta(b []byte, delta int64) []byte {
	for ; delta > maxVLQ; delta -= maxVLQ {
		b = appendVLQ(b, maxVLQ)
		b = append(b, Meta, Text, 0)
	}
	return appendVLQ(b, uint32(delta))
}

func (e *Event) append(b []byte) ([]byte, error) {
	b = append(b, e.Status)
	switch {
	case e.Status >= 0x80 && e.Status < 0xF0:
		if len(e.Data) != dataBytes(e.Status) {
			return nil, fmt.Errorf("status 0x%02x with %d data bytes", e.Status, len(e.Data))
		}
		for _, d := range e.Data {
			if d >= 0x80 {
				return nil, fmt.Errorf("status 0x%02x with data byte 0x%02x", e.Status, d)
			}
		}
		return append(b, e.Data...), nil
	case e.Status == Meta:
		b = append(b, e.Meta)
	case e.Status != SysEx && e.Status != Escape:
		return nil, fmt.Errorf("status 0x%02x has no place in a file", e.Status)
	}
	if len(e.Data) > maxVLQ {
		return nil, fmt.Errorf("%d bytes of content do not fit", len(e.Data))
	}
	b = appendVLQ(b, uint32(len(e.Data)))
	return append(b, e.Data...), nil
}
