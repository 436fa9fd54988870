package ear

import "time"

// player puts sounds one after another.
type player struct {
	sounds []Sound
	at     time.Duration
}

// chord sounds keys together and goes on when they have ended; they are let go a little before.
func (p *player) chord(length time.Duration, velocity int, keys ...int) {
	for _, k := range keys {
		p.sounds = append(p.sounds, Sound{uint8(k), uint8(velocity), p.at, p.at + length*19/20})
	}
	p.at += length
}

// rest is silence.
func (p *player) rest(length time.Duration) { p.at += length }
