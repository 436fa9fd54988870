package serve

import (
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"slices"
	"strings"
)

// policy is the content-security policy of all pages: everything comes from this server, and nothing that
// is written into a page runs. The engraver is WebAssembly.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; font-src data:; " +
	"connect-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// guard is what every request passes first.
func (s *Server) guard(next http.Handler) http.Handler {
	forms := http.NewCrossOriginProtection()
	forms.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, http.StatusForbidden, "The form came from another site.")
	}))
	checked := forms.Handler(s.gated(next))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Referrer-Policy", "same-origin") // with no-referrer, browsers leave the origin out of forms
		h.Set("Cache-Control", "private, no-cache")
		defer s.recovered(w, r)
		if !s.knowsName(r.Host) {
			s.fail(w, http.StatusMisdirectedRequest, "This server does not go by that name. Use its address, or start it with --name.")
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, bodyMost)
		checked.ServeHTTP(w, r)
	})
}

// recovered answers where a handler failed in a way it should not.
func (s *Server) recovered(w http.ResponseWriter, r *http.Request) {
	switch v := recover(); v {
	case nil:
	case http.ErrAbortHandler:
		panic(v)
	default:
		s.Log(fmt.Errorf("a page failed: %v\n%s", v, debug.Stack()))
		s.fail(w, http.StatusInternalServerError, "Something went wrong here; it was noted.")
	}
}

// knowsName reports whether the server may be called by the name in a request. A name that is not known
// may have been pointed at this machine by another site, so that its pages could read ours (DNS
// rebinding); an address cannot be.
func (s *Server) knowsName(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.Trim(name, "[]")
	if _, err := netip.ParseAddr(name); err == nil {
		return true
	}
	same := func(known string) bool { return strings.EqualFold(strings.TrimSuffix(name, "."), known) }
	return same("localhost") || slices.ContainsFunc(s.Names, same)
}

// cookieName is that of the cookie with the ticket.
const cookieName = "evenhand"

// gated lets only those in who gave the passphrase; without one, everybody.
func (s *Server) gated(next http.Handler) http.Handler {
	if s.gate == nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if open := r.URL.Path == enterPage || strings.HasPrefix(r.URL.Path, assetsFolder); !open && !s.entered(r) {
			if r.Method != http.MethodGet {
				s.fail(w, http.StatusUnauthorized, "Give the passphrase first.")
				return
			}
			http.Redirect(w, r, enterPage+"?to="+back(r.URL.Path), http.StatusSeeOther)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// entered reports whether a request comes from somebody who gave the passphrase.
func (s *Server) entered(r *http.Request) bool {
	c, err := r.Cookie(cookieName)
	return err == nil && s.gate != nil && s.gate.knows(c.Value)
}

// from is the address that a request comes from.
func from(r *http.Request) netip.Addr {
	a, _ := netip.ParseAddrPort(r.RemoteAddr) // one that is none counts as one address
	return a.Addr()
}

// quiet is where net/http says what every reader on a network can cause.
func quiet() *log.Logger { return log.New(io.Discard, "", 0) }
