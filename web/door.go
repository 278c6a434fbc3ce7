package web

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"io"
	"net/http"
	"sync"
	"time"
)

// doors holds the one-time link that is good now and the sessions that links opened. Only hashes are kept.
type doors struct {
	mu       sync.Mutex
	link     [sha256.Size]byte
	hasLink  bool
	sessions map[[sha256.Size]byte]time.Time // last use
}

const (
	cookieName = "lowtide"
	// idleLimit ends a session that was not used: a working day with a break.
	idleLimit = 12 * time.Hour
)

// NewLink makes a new one-time path, such as "/open?key=...". The link before it is no longer good.
func (s *Server) NewLink() (string, error) {
	key, err := newKey(s.Random)
	if err != nil {
		return "", err
	}
	s.doors.mu.Lock()
	defer s.doors.mu.Unlock()
	s.doors.link, s.doors.hasLink = sha256.Sum256([]byte(key)), true
	return "/open?key=" + key, nil
}

func newKey(random io.Reader) (string, error) {
	var b [24]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", err
	}
	return base64.RawURLEncoding.EncodeToString(b[:]), nil
}

// openDoor takes a one-time link, opens a session and goes to Rounds.
func (s *Server) openDoor(w http.ResponseWriter, r *http.Request) {
	if !s.useLink(r.URL.Query().Get("key")) {
		s.refuse(w, r, http.StatusForbidden, "This link is not good any more.", "A link opens Lowtide once. Look at the window in which Lowtide runs: it prints the next link after each use.")
		return
	}
	key, err := newKey(s.Random)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.doors.mu.Lock()
	if s.doors.sessions == nil {
		s.doors.sessions = map[[sha256.Size]byte]time.Time{}
	}
	s.doors.sessions[sha256.Sum256([]byte(key))] = s.Now()
	s.doors.mu.Unlock()
	http.SetCookie(w, &http.Cookie{Name: cookieName, Value: key, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: r.TLS != nil})
	if s.LinkUsed != nil {
		s.LinkUsed()
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// useLink tells whether the key is that of the link, and uses it up if so.
func (s *Server) useLink(key string) bool {
	sum := sha256.Sum256([]byte(key))
	s.doors.mu.Lock()
	defer s.doors.mu.Unlock()
	if !s.doors.hasLink || subtle.ConstantTimeCompare(sum[:], s.doors.link[:]) != 1 {
		return false
	}
	s.doors.hasLink = false
	return true
}

// inside tells whether the request carries a session that is still good, and marks it as used.
func (s *Server) inside(r *http.Request) bool {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return false
	}
	sum, now := sha256.Sum256([]byte(c.Value)), s.Now()
	s.doors.mu.Lock()
	defer s.doors.mu.Unlock()
	last, ok := s.doors.sessions[sum]
	if !ok || now.Sub(last) > idleLimit {
		delete(s.doors.sessions, sum)
		return false
	}
	s.doors.sessions[sum] = now
	return true
}

// leave ends the session of this browser.
func (s *Server) leave(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(cookieName); err == nil {
		s.doors.mu.Lock()
		delete(s.doors.sessions, sha256.Sum256([]byte(c.Value)))
		s.doors.mu.Unlock()
	}
	http.SetCookie(w, &http.Cookie{Name: cookieName, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	s.refuse(w, r, http.StatusOK, "You have left Lowtide.", "To come back, open the link in the window in which Lowtide runs.")
}
