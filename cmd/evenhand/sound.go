package main

import (
	"context"
	"errors"
	"fmt"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/capture/pupil"
)

// player makes a piano sound through its MIDI input.
type player struct {
	out  *ports.Out
	name string
}

// openPlayer opens the output that is named, or else the one that belongs to the piano listened to by
// the choice of --piano. The error says in one line why there is none.
func openPlayer(piano, output string) (*player, error) {
	out, port, err := ports.OpenSound(piano, output)
	if err != nil {
		return nil, err
	}
	return &player{out, port.Name}, nil
}

// play sounds notes and pedals in real time, counted from now, and returns when the last has ended or
// ctx is done: then everything that sounds is let go. Each message is passed to passing, which may be
// nil, as it is sent.
func (p *player) play(ctx context.Context, take *capture.Take, passing func(capture.Message)) error {
	err := pupil.Perform(ctx, take, pupil.RealTime(), func(m capture.Message) error {
		if err := p.out.Send(m.Status, m.Data1, m.Data2); err != nil {
			return fmt.Errorf("%s sounds no more: %w", p.name, err)
		}
		if passing != nil {
			passing(m)
		}
		return nil
	})
	if errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

// close lets the output go. What was sent last is sounded still.
func (p *player) close() { p.out.Close() }
