package pupil

import (
	"cmp"
	"context"
	"slices"
	"time"

	"evenhand/capture"
)

// Status bytes on the first channel (MIDI 1.0), and the release velocity of a piano that does not
// measure it.
const (
	noteOff    = 0x80
	noteOn     = 0x90
	controller = 0xB0
	release    = 64
)

// Messages is a take as the bytes a piano sends: note-ons, note-offs and pedals in order of time, all
// on the first channel. At one time keys come up first, then pedals move, then keys go down. A note
// left open has no note-off.
func Messages(take *capture.Take) []capture.Message {
	var out []capture.Message
	for _, n := range take.Notes {
		if !n.Open {
			out = append(out, capture.Message{At: n.Off, Status: noteOff, Data1: n.Key, Data2: release})
		}
	}
	for _, p := range take.Pedals {
		out = append(out, capture.Message{At: p.At, Status: controller, Data1: p.Controller, Data2: p.Value})
	}
	for _, n := range take.Notes {
		out = append(out, capture.Message{At: n.On, Status: noteOn, Data1: n.Key, Data2: n.Velocity})
	}
	slices.SortStableFunc(out, func(a, b capture.Message) int { return cmp.Compare(a.At, b.At) })
	return out
}

// Perform sends a take message by message, each when until returns: until waits for the moment at,
// counted from the start of the take, and is an error when there is no use in going on. Then, and when
// send fails, every key that is down is let go and the sustaining pedal comes up, and the error is
// returned. A key left open stays down at a natural end, as on the take.
func Perform(ctx context.Context, take *capture.Take, until func(ctx context.Context, at time.Duration) error, send func(capture.Message) error) error {
	var down [128]bool
	var pedals [128]bool
	for _, m := range Messages(take) {
		err := until(ctx, m.At)
		if err == nil {
			err = send(m)
		}
		if err != nil {
			letGo(m.At, down, pedals, send)
			return err
		}
		switch m.Status {
		case controller:
			pedals[m.Data1&127] = m.Data2 > 0
		default:
			down[m.Data1&127] = m.Status == noteOn
		}
	}
	return nil
}

// letGo leaves the piano quiet. Its own errors add nothing: the piano is no longer there.
func letGo(at time.Duration, down, pedals [128]bool, send func(capture.Message) error) {
	for k := range down {
		if down[k] {
			_ = send(capture.Message{At: at, Status: noteOff, Data1: uint8(k), Data2: release})
		}
	}
	for c := range pedals {
		if pedals[c] {
			_ = send(capture.Message{At: at, Status: controller, Data1: uint8(c)})
		}
	}
}

// RealTime waits by the clock, for Perform. The take starts when it is called; every moment is counted
// from there, so that no lateness is carried on.
func RealTime() func(ctx context.Context, at time.Duration) error {
	start := time.Now()
	return func(ctx context.Context, at time.Duration) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		wait := time.NewTimer(at - time.Since(start))
		defer wait.Stop()
		select {
		case <-wait.C:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}
