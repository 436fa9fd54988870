package serve

import (
	"errors"
	"net/netip"
	"sync"
	"testing"
	"time"
)

const passphrase = "seven small otters"

// clock is a time that stands still until it is moved.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func newClock() *clock { return &clock{at: time.Date(2026, 9, 7, 16, 0, 0, 0, time.UTC)} }

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *clock) move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

func newTestGate(t *testing.T) (*gate, *clock) {
	t.Helper()
	c := newClock()
	g, err := newGate(passphrase, c.now)
	if err != nil {
		t.Fatal(err)
	}
	return g, c
}

var (
	here  = netip.MustParseAddr("192.0.2.7")
	there = netip.MustParseAddr("192.0.2.8")
)

func TestGateLetsInWhoKnows(t *testing.T) {
	g, c := newTestGate(t)
	cookie, err := g.try(here, passphrase)
	if err != nil || !g.knows(cookie) || g.knows("") || g.knows(cookie+"x") {
		t.Fatalf("%q, %v", cookie, err)
	}
	other, err := g.try(here, passphrase)
	if err != nil || other == cookie {
		t.Errorf("a second reader got %q, %v", other, err)
	}
	g.leave(other)
	if g.knows(other) || !g.knows(cookie) {
		t.Error("leaving ended the wrong ticket")
	}
	c.move(ticketLasts)
	if g.knows(cookie) {
		t.Error("the ticket never ends")
	}
	if _, err := newGate("short", c.now); !errors.Is(err, ErrPassphrase) {
		t.Errorf("a short passphrase: %v", err)
	}
}

// The wait doubles with each wrong try; the right passphrase is not looked at before it is over.
func TestGateSlowsWrongTries(t *testing.T) {
	g, c := newTestGate(t)
	for wait := firstWait; wait < 40*time.Second; wait *= 2 {
		if _, err := g.try(here, "wrong"); !errors.Is(err, errWrong) {
			t.Fatalf("after %v: %v", wait, err)
		}
		var soon tooSoon
		if _, err := g.try(here, passphrase); !errors.As(err, &soon) || soon.wait != wait {
			t.Errorf("at once: %v, want a wait of %v", err, wait)
		}
		c.move(wait - time.Millisecond)
		if _, err := g.try(here, passphrase); !errors.As(err, &soon) || soon.wait != time.Millisecond {
			t.Errorf("a millisecond too soon: %v", err)
		}
		c.move(time.Millisecond)
	}
	if _, err := g.try(there, passphrase); err != nil {
		t.Errorf("somebody else has to wait: %v", err)
	}
	if _, err := g.try(here, passphrase); err != nil {
		t.Errorf("after the wait: %v", err)
	}
	if _, err := g.try(here, "wrong"); !errors.Is(err, errWrong) {
		t.Errorf("the right one did not begin the count anew: %v", err)
	}
}

// In an hour one address has few tries, and a thousand addresses have not many more.
func TestGateTriesInAnHour(t *testing.T) {
	for _, tt := range []struct {
		addresses, most int
	}{{1, 25}, {1000, triesAtOnce + 60*triesAMinute}} {
		g, c := newTestGate(t)
		looked := 0
		for s := range 3600 {
			for n := range 4 {
				i := (4*s + n) % tt.addresses
				from := netip.AddrFrom4([4]byte{10, 1, byte(i >> 8), byte(i)})
				if _, err := g.try(from, "wrong"); errors.Is(err, errWrong) {
					looked++
				}
			}
			c.move(time.Second)
		}
		if looked == 0 || looked > tt.most {
			t.Errorf("%d addresses: %d tries were looked at in an hour, want at most %d", tt.addresses, looked, tt.most)
		}
	}
}

// Tries that come at the same moment are slowed as those that come one by one.
func TestGateSlowsTriesAtOnce(t *testing.T) {
	g, _ := newTestGate(t)
	var all sync.WaitGroup
	looked := make(chan bool, 100)
	for range cap(looked) {
		all.Go(func() {
			_, err := g.try(here, "wrong")
			looked <- errors.Is(err, errWrong)
		})
	}
	all.Wait()
	n := 0
	for range cap(looked) {
		if <-looked {
			n++
		}
	}
	if n != 1 {
		t.Errorf("%d tries of one address were looked at within one moment", n)
	}
}

func TestGateForgetsAddresses(t *testing.T) {
	g, c := newTestGate(t)
	for i := range addressesMost {
		g.wrong[household(netip.AddrFrom4([4]byte{10, 9, byte(i >> 8), byte(i)}))] = failures{1, c.now()}
	}
	var soon tooSoon
	if _, err := g.try(here, "wrong"); !errors.As(err, &soon) || len(g.wrong) > 1 {
		t.Errorf("%v, %d addresses remembered", err, len(g.wrong))
	}
	c.move(time.Minute)
	if _, err := g.try(here, passphrase); err != nil {
		t.Error(err)
	}
}

func TestHousehold(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		same bool
	}{
		{"192.0.2.7", "192.0.2.8", false},
		{"192.0.2.7", "::ffff:192.0.2.7", true},
		{"2001:db8:1:2::1", "2001:db8:1:2:ffff::9", true},
		{"2001:db8:1:2::1", "2001:db8:1:3::1", false},
		{"fe80::1%eth0", "fe80::2%eth1", true},
	} {
		if got := household(netip.MustParseAddr(tt.a)) == household(netip.MustParseAddr(tt.b)); got != tt.same {
			t.Errorf("%s and %s: same %v", tt.a, tt.b, got)
		}
	}
	if household(netip.Addr{}).IsValid() {
		t.Error("no address is an address")
	}
}
