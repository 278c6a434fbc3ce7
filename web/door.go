package web

import (
	"crypto/subtle"
	"net/http"
	"strings"
	"sync"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
)

// doors holds what opens: the one-time link, the key of the set-up, sessions, and second steps of signing in. Only
// hashes of keys are kept, and all of it in memory: a restart signs everybody out.
type doors struct {
	sessions account.Sessions
	codes    account.Codes
	throttle account.Throttle

	mu    sync.Mutex
	link  string
	setUp string
	steps map[string]step
	alone *account.Set
}

// step is a person whose password was right and whose code is still to come.
type step struct {
	account string
	epoch   int
	made    time.Time
}

// NewLink makes a new one-time path, such as "/open?key=...", that opens a session of Author. The link before it is no
// longer good. With accounts this is for demonstrations only.
func (s *Server) NewLink() (string, error) { return s.newDoor("/open?key=", &s.doors.link) }

// NewSetUp makes the path at which the first account is set up. It is good until there is one.
func (s *Server) NewSetUp() (string, error) { return s.newDoor("/set-up?key=", &s.doors.setUp) }

func (s *Server) newDoor(path string, hash *string) (string, error) {
	key, err := account.NewKey(s.Random)
	if err != nil {
		return "", err
	}
	s.doors.mu.Lock()
	defer s.doors.mu.Unlock()
	*hash = account.HashKey(key)
	return path + key, nil
}

func same(a, b string) bool {
	return a != "" && subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1
}

// openDoor takes a one-time link, opens a session and goes to Rounds.
func (s *Server) openDoor(r *Request) (Answer, error) {
	if !s.useLink(r.URL.Query().Get("key")) {
		return nil, refuse(http.StatusForbidden, "This link is not good any more.", "A link opens Lowtide once. Look at the window in which Lowtide runs: it prints the next link after each use.")
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	a := set.Get(s.Author)
	if a == nil || a.Disabled {
		return nil, errMissing
	}
	if err := s.begin(r, a, account.ByLink); err != nil {
		return nil, err
	}
	if s.LinkUsed != nil {
		s.LinkUsed()
	}
	return goTo("/")
}

// useLink tells whether the key is that of the link, and uses it up if so.
func (s *Server) useLink(key string) bool {
	s.doors.mu.Lock()
	defer s.doors.mu.Unlock()
	if !same(s.doors.link, account.HashKey(key)) {
		return false
	}
	s.doors.link = ""
	return true
}

// begin opens a session of the account in this browser and ends the one that was there, whoever's it was.
func (s *Server) begin(r *Request, a *account.Account, by account.Proof) error {
	if err := s.note(r, accesslog.Noted{Account: a.Name, What: accesslog.SignedIn}); err != nil {
		return err
	}
	if c, err := r.Cookie(s.cookie(sessionCookie)); err == nil {
		s.doors.sessions.End(c.Value)
	}
	key, err := s.doors.sessions.Start(s.Random, a, by, s.where(r), s.Now())
	if err == nil {
		s.setCookie(r, sessionCookie, key, 0)
	}
	return err
}

// where is what a session keeps of the browser.
func (s *Server) where(r *Request) account.Where {
	return account.Where{From: s.from(r), Browser: browserWords(r.UserAgent())}
}

// browserWords says in two words what a browser says of itself, so that a person knows it again in a list.
func browserWords(agent string) string {
	first := func(names [][2]string) string {
		for _, n := range names {
			if strings.Contains(agent, n[0]) {
				return n[1]
			}
		}
		return ""
	}
	browser := first([][2]string{{"Edg", "Edge"}, {"OPR/", "Opera"}, {"Firefox/", "Firefox"}, {"Chrome/", "Chrome"}, {"CriOS/", "Chrome"}, {"Safari/", "Safari"}})
	system := first([][2]string{{"Android", "Android"}, {"iPhone", "iPhone"}, {"iPad", "iPad"}, {"Windows", "Windows"}, {"Macintosh", "Mac"}, {"Linux", "Linux"}})
	switch {
	case browser == "" && system == "":
		return "a browser that says nothing of itself"
	case browser == "":
		return "a browser on " + system
	case system == "":
		return browser
	}
	return browser + " on " + system
}

// end ends the session of this browser and lets the browser forget what it kept.
func (s *Server) end(r *Request) {
	if c, err := r.Cookie(s.cookie(sessionCookie)); err == nil {
		s.doors.sessions.End(c.Value)
	}
	s.setCookie(r, sessionCookie, "", -1)
	r.header.Set("Clear-Site-Data", `"cache"`)
}

// leave ends the session of this browser.
func (s *Server) leave(r *Request) (Answer, error) {
	if err := s.note(r, accesslog.Noted{What: accesslog.Left}); err != nil {
		return nil, err
	}
	s.end(r)
	if s.Accounts != nil && !s.Demo {
		return goTo("/sign-in")
	}
	r.who = nil
	return s.tell(r, "You have left Lowtide.", "To come back, open the link in the window in which Lowtide runs.")
}

// switchPerson ends the session and asks who comes next. Nothing of the last person's page is carried over.
func (s *Server) switchPerson(r *Request) (Answer, error) {
	if err := s.note(r, accesslog.Noted{What: accesslog.Left}); err != nil {
		return nil, err
	}
	if s.Demo {
		return goTo("/who")
	}
	s.end(r)
	return goTo("/sign-in")
}

// stay marks the session as used: somebody is typing.
func stay(*Request) (Answer, error) { return nothing{}, nil }

// nothing is an answer without content.
type nothing struct{}

func (nothing) send(w http.ResponseWriter, _ *http.Request) error {
	w.WriteHeader(http.StatusNoContent)
	return nil
}
