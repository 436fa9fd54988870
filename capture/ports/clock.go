package ports

import "time"

// slack is how far the driver's sum of differences may lie from when a message came, as its thread saw
// it, before that is believed instead. It is longer than the process cycles of JACK and than a driver's
// thread is late on a busy machine, and shorter than any pause a difference could go missing in unnoticed.
const slack = 50 * time.Millisecond

// stamper turns the driver's time differences into times on the clock of the process: by their sum, which
// has nothing of the lateness of the driver's thread, as long as it is within slack of when that thread saw
// the message. The sum leaves that where the driver left a message out (of a long system exclusive message
// only the last part's difference is told) or its clock was set; then it starts afresh.
type stamper struct {
	at    time.Duration // of the last message
	begun bool          // false where the next difference means nothing, as a port has just been opened
}

// stamp is the time of a message that came when the driver says, since after the one before it. It never
// goes back.
func (s *stamper) stamp(since, came time.Duration) time.Duration {
	at := s.at + since
	if !s.begun || since < 0 || (at-came).Abs() > slack {
		at = max(came, s.at)
	}
	s.at, s.begun = at, true
	return at
}
