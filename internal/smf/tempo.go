package smf

import (
	"math"
	"math/bits"
	"time"
)

// Division is the unit of time of a file, as its header has it (RP-001): ticks in a quarter note
// where the top bit is clear; otherwise minus the frames in a second, in the high byte, and the
// ticks in a frame.
type Division uint16

// TicksPerQuarter is the ticks in a quarter note, or 0 where the file counts in SMPTE frames.
func (d Division) TicksPerQuarter() int {
	if d&0x8000 != 0 {
		return 0
	}
	return int(d)
}

// SMPTE is the nominal frames in a second (24, 25, 29 or 30; 29 stands for 30000/1001 of the
// drop-frame code) and the ticks in a frame, or 0 and 0 where the file counts in quarter notes.
func (d Division) SMPTE() (frames, ticks int) {
	if d&0x8000 == 0 {
		return 0, 0
	}
	return -int(int8(d >> 8)), int(d & 0xFF)
}

// valid reports whether a tick has a length at all.
func (d Division) valid() bool {
	_, ticks := d.SMPTE()
	return d.TicksPerQuarter() > 0 || ticks > 0
}

// defaultTempo is the length of a quarter in microseconds until a tempo event comes: 120 to the
// minute (RP-001).
const defaultTempo = 500_000

// clock turns ticks into microseconds exactly. It keeps the time that has gone by as an unreduced
// 128-bit count of 1/den microseconds, so that any number of tempo changes adds no rounding; only
// the answer is rounded, to the nearest microsecond, halves up.
type clock struct {
	smpte  bool
	num    uint64 // 1/den microseconds in a tick
	den    uint64
	tick   int64  // the latest tick asked for
	hi, lo uint64 // 1/den microseconds from the start to that tick
}

func newClock(d Division) *clock {
	if frames, ticks := d.SMPTE(); frames == 29 {
		return &clock{smpte: true, num: 1001 * 1_000_000, den: 30_000 * uint64(ticks)}
	} else if frames > 0 {
		return &clock{smpte: true, num: 1_000_000, den: uint64(frames * ticks)}
	}
	return &clock{num: defaultTempo, den: uint64(d.TicksPerQuarter())}
}

// setTempo changes the length of a quarter from the latest tick on. Under SMPTE a tick is a fixed
// time and a tempo changes nothing.
func (c *clock) setTempo(us uint32) {
	if !c.smpte {
		c.num = uint64(us)
	}
}

// at is the time of a tick, which must not lie before the one asked for last. Times beyond what a
// Duration holds (292 years) stay at its end.
func (c *clock) at(tick int64) time.Duration {
	hi, lo := bits.Mul64(uint64(tick-c.tick), c.num)
	var carry uint64
	c.lo, carry = bits.Add64(c.lo, lo, 0)
	c.hi += hi + carry
	c.tick = tick

	lo, carry = bits.Add64(c.lo, c.den/2, 0)
	hi = c.hi + carry
	const most = math.MaxInt64 / 1000
	if hi >= c.den {
		return most * time.Microsecond
	}
	us, _ := bits.Div64(hi, lo, c.den)
	return time.Duration(min(us, most)) * time.Microsecond
}
