package ports

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// A message is stamped by the driver's difference, however late its thread is.
func TestStampHasNoneOfTheLatenessOfTheDriver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s stamper
		var struck, first, offset time.Duration
		for i := range rapid.IntRange(2, 50).Draw(t, "messages") {
			gap := time.Duration(rapid.IntRange(0, 3_000_000).Draw(t, "gap")) * time.Microsecond
			late := time.Duration(rapid.IntRange(0, int(slack/time.Microsecond)).Draw(t, "late")) * time.Microsecond
			struck += gap
			at := s.stamp(gap, struck+late)
			if i == 0 {
				first, offset = at, at-struck
			}
			if at-struck != offset {
				t.Fatalf("message %d: %v after the first, struck %v after it", i, at-first, struck-first+offset)
			}
		}
	})
}

func TestStampBelievesTheClockWhereDifferencesAreMissing(t *testing.T) {
	var s stamper
	s.stamp(0, time.Second)
	if got := s.stamp(10*time.Millisecond, 3002*time.Millisecond); got != 3002*time.Millisecond {
		t.Errorf("after two seconds the driver did not count: %v", got)
	}
	if got := s.stamp(time.Hour, 3004*time.Millisecond); got != 3004*time.Millisecond {
		t.Errorf("after an hour that was none: %v", got)
	}
	if got := s.stamp(-time.Hour, 3004*time.Millisecond); got != 3004*time.Millisecond {
		t.Errorf("after an hour back: %v", got)
	}
	s.begun = false
	if got := s.stamp(0, 3020*time.Millisecond); got != 3020*time.Millisecond {
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
			if rapid.IntRange(0, 4).Draw(t, "event") == 0 {
				s.begun = false
				continue
			}
			at := s.stamp(time.Duration(us.Draw(t, "since")-50_000)*time.Microsecond, now)
			if at < last || at > now+slack {
				t.Fatalf("%v after %v, at %v", at, last, now)
			}
			last = at
		}
	})
}
