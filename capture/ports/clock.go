package ports

import "time"

// slack is how far the driver's sum of differences may lie outside the time in which a message
// can have come before the clock is believed instead. It is longer than a queue is left unread
// and than the process cycles of JACK, and shorter than any pause a difference could go missing in
// unnoticed.
const slack = 50 * time.Millisecond

// stamper turns the driver's time differences into times on the clock of the process.
//
// A message found now, in a queue that was empty at the look before, came between the two. Within
// that, and slack, the sum of the differences is used. It leaves it where the driver left a message
// out (of a long system exclusive message only the last part's difference is told) or its clock
// was set; then the sum starts afresh from now.
type stamper struct {
	at    time.Duration // of the last message
	begun bool
	empty time.Duration // when the queue was last seen empty
}

// idle tells that the queue was empty at now.
func (s *stamper) idle(now time.Duration) { s.empty = now }

// stamp is the time of a message found at now, since after the one before it. It never goes back.
func (s *stamper) stamp(since, now time.Duration) time.Duration {
	at := s.at + since
	if !s.begun || since < 0 || at < s.empty-slack || at > now+slack {
		at = max(now, s.at)
	}
	s.at, s.begun = at, true
	return at
}

// restart forgets the differences, whose first means nothing once a port is opened anew.
func (s *stamper) restart(now time.Duration) { s.begun, s.empty = false, now }
