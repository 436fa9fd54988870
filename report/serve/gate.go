package serve

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"maps"
	"net/netip"
	"sync"
	"time"
	"unicode/utf8"
)

// gate lets in those who know the passphrase, and gives each a ticket. Wrong tries are slowed: after each
// from one address the next from there has to wait twice as long, and all addresses together have so many
// a minute, so that many machines guess no faster.
type gate struct {
	now  func() time.Time
	key  []byte // of this run: what is compared is as long for every try
	want []byte

	mu      sync.Mutex
	tickets map[ticket]time.Time // and when they end
	wrong   map[netip.Prefix]failures
	spare   float64 // tries that all addresses together have left
	filled  time.Time
}

// ticket is the SHA-256 of what a reader's cookie says.
type ticket [sha256.Size]byte

// failures are the wrong tries of one address.
type failures struct {
	n     int
	again time.Time // when the next may come
}

// Chosen by us: a passphrase of eight characters that is tried ten times a minute lasts.
const (
	passphraseLeast = 8
	ticketLasts     = 30 * 24 * time.Hour
	ticketsMost     = 1000
	firstWait       = time.Second
	longestWait     = 5 * time.Minute
	forgotten       = time.Hour // after which an address begins anew
	addressesMost   = 10_000
	triesAtOnce     = 10 // of all addresses
	triesAMinute    = 10
)

// ErrPassphrase says that a passphrase is too short.
var ErrPassphrase = fmt.Errorf("the passphrase is too short: take %d characters or more", passphraseLeast)

// newGate makes the gate for a passphrase.
func newGate(passphrase string, now func() time.Time) (*gate, error) {
	if utf8.RuneCountInString(passphrase) < passphraseLeast {
		return nil, ErrPassphrase
	}
	g := &gate{
		now: now, key: make([]byte, sha256.Size),
		tickets: map[ticket]time.Time{}, wrong: map[netip.Prefix]failures{}, spare: triesAtOnce, filled: now(),
	}
	rand.Read(g.key) // never fails, see crypto/rand
	g.want = g.digest(passphrase)
	return g, nil
}

func (g *gate) digest(passphrase string) []byte {
	h := hmac.New(sha256.New, g.key)
	h.Write([]byte(passphrase))
	return h.Sum(nil)
}

// errWrong is the answer to a wrong passphrase.
var errWrong = errors.New("that is not the passphrase")

// tooSoon says that a try came too soon, and was not looked at.
type tooSoon struct{ wait time.Duration }

func (e tooSoon) Error() string {
	return fmt.Sprintf("there were wrong tries: wait %d s before the next", int(e.wait.Seconds()+0.999))
}

// try lets in who gives the passphrase, and returns what the cookie is to say.
func (g *gate) try(from netip.Addr, passphrase string) (string, error) {
	if err := g.charge(from); err != nil {
		return "", err
	}
	if !hmac.Equal(g.digest(passphrase), g.want) { // in constant time
		return "", errWrong
	}
	return g.admit(from), nil
}

// charge counts a try as a wrong one before it is looked at, so that many at once are slowed too.
func (g *gate) charge(from netip.Addr) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	g.spare = min(triesAtOnce, g.spare+now.Sub(g.filled).Minutes()*triesAMinute)
	g.filled = now
	g.tidy(now)
	at := household(from)
	f := g.wrong[at]
	if wait := f.again.Sub(now); wait > 0 {
		return tooSoon{wait}
	}
	if g.spare < 1 {
		return tooSoon{time.Duration((1 - g.spare) / triesAMinute * float64(time.Minute))}
	}
	g.spare--
	wait := min(longestWait, firstWait<<min(f.n, 20))
	g.wrong[at] = failures{f.n + 1, now.Add(wait)}
	return nil
}

// tidy forgets what is over, and bounds what is remembered: where too many addresses have tried, no try
// is allowed before one of them is forgotten but by all together.
func (g *gate) tidy(now time.Time) {
	maps.DeleteFunc(g.wrong, func(_ netip.Prefix, f failures) bool { return now.Sub(f.again) > forgotten })
	if len(g.wrong) >= addressesMost {
		clear(g.wrong)
		g.spare = 0
	}
}

// household is what counts as one address: of IPv6, the 64 bits that a household is given.
func household(a netip.Addr) netip.Prefix {
	a = a.Unmap().WithZone("")
	bits := a.BitLen()
	if a.Is6() {
		bits = 64
	}
	p, _ := a.Prefix(bits) // an address that is none gives the prefix that is none
	return p
}

// admit makes a ticket for somebody who gave the passphrase, and takes back the charge.
func (g *gate) admit(from netip.Addr) string {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	delete(g.wrong, household(from))
	g.spare = min(triesAtOnce, g.spare+1)
	maps.DeleteFunc(g.tickets, func(_ ticket, ends time.Time) bool { return !now.Before(ends) })
	if len(g.tickets) >= ticketsMost {
		clear(g.tickets)
	}
	var secret [32]byte
	rand.Read(secret[:])
	cookie := base64.RawURLEncoding.EncodeToString(secret[:])
	g.tickets[sha256.Sum256([]byte(cookie))] = now.Add(ticketLasts)
	return cookie
}

// knows reports whether a cookie is a ticket that holds. It is looked up by its digest, so that the time
// taken says nothing about the tickets there are.
func (g *gate) knows(cookie string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	ends, ok := g.tickets[sha256.Sum256([]byte(cookie))]
	return ok && g.now().Before(ends)
}

// leave ends a ticket.
func (g *gate) leave(cookie string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	delete(g.tickets, sha256.Sum256([]byte(cookie)))
}
