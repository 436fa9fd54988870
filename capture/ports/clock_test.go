package ports

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// A message is stamped by the driver's difference, however late it is read.
func TestStampHasNoneOfTheDelayOfReading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s stamper
		delay := rapid.Custom(func(t *rapid.T) time.Duration {
			return time.Duration(rapid.IntRange(0, 20_000).Draw(t, "µs")) * time.Microsecond
		})
		var came, first, offset time.Duration
		for i := range rapid.IntRange(2, 50).Draw(t, "messages") {
			gap := time.Duration(rapid.IntRange(0, 3_000_000).Draw(t, "gap")) * time.Microsecond
			came += gap
			s.idle(came - delay.Draw(t, "empty before"))
			at := s.stamp(gap, came+delay.Draw(t, "read after"))
			if i == 0 {
				first, offset = at, at-came
			}
			if at-came != offset {
				t.Fatalf("message %d: %v after the first, came %v after it", i, at-first, came-first+offset)
			}
		}
	})
}

func TestStampBelievesTheClockWhereDifferencesAreMissing(t *testing.T) {
	var s stamper
	s.stamp(0, time.Second)
	s.idle(3 * time.Second)
	if got := s.stamp(10*time.Millisecond, 3002*time.Millisecond); got != 3002*time.Millisecond {
		t.Errorf("after two seconds the driver did not count: %v", got)
	}
	if got := s.stamp(time.Hour, 3004*time.Millisecond); got != 3004*time.Millisecond {
		t.Errorf("after an hour that was none: %v", got)
	}
	if got := s.stamp(-time.Hour, 3004*time.Millisecond); got != 3004*time.Millisecond {
		t.Errorf("after an hour back: %v", got)
	}
	s.restart(9 * time.Second)
	if got := s.stamp(0, 9001*time.Millisecond); got != 9001*time.Millisecond {
		t.Errorf("after opening anew: %v", got)
	}
}

func TestStampNeverGoesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s stamper
		var now, last time.Duration
		us := rapid.IntRange(0, 200_000)
		for range 50 {
			now += time.Duration(us.Draw(t, "pass")) * time.Microsecond
			switch rapid.IntRange(0, 4).Draw(t, "event") {
			case 0:
				s.idle(now)
			case 1:
				s.restart(now)
			default:
				at := s.stamp(time.Duration(us.Draw(t, "since")-50_000)*time.Microsecond, now)
				if at < last || at > now+slack {
					t.Fatalf("%v after %v, at %v", at, last, now)
				}
				last = at
			}
		}
	})
}
