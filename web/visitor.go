package web

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"strings"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/state"
)

// visitor is who a request comes from.
type visitor struct {
	set     *account.Set
	account *account.Account
	session account.Session
	key     string
}

// wantsPasskey tells that everybody is asked for a passkey and this session was not opened by one.
func (v *visitor) wantsPasskey() bool { return v.set.Passkeys && v.session.By < account.ByPasskey }

// author is the account that what this request writes is written by.
func (s *Server) author(r *Request) string {
	if v := r.who; v != nil {
		return v.account.Name
	}
	return s.Author
}

// accounts returns everybody who may come in. Without a directory that is one nurse, who came by a link.
func (s *Server) accounts(ctx context.Context) (*account.Set, error) {
	if s.Accounts != nil {
		return s.Accounts.Set(ctx, s.Now())
	}
	s.doors.mu.Lock()
	defer s.doors.mu.Unlock()
	if s.doors.alone == nil {
		s.doors.alone = account.Alone(s.Author)
	}
	return s.doors.alone, nil
}

// visit finds who a request comes from; nil when nobody is signed in.
func (s *Server) visit(r *Request) (*visitor, error) {
	c, err := r.Cookie(s.cookie(sessionCookie))
	if err != nil {
		return nil, nil
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	one, a, ok := s.doors.sessions.Use(c.Value, set, s.Now())
	if !ok {
		return nil, nil
	}
	return &visitor{set, a, one, c.Value}, nil
}

// onList tells whether a patient is on the person's list: see [account.Set.OnList].
func (s *Server) onList(v *visitor, p state.Person) bool {
	if s.Accounts == nil {
		return true
	}
	return v != nil && v.set.OnList(v.account, p.Nurse, p.Team)
}

// mayOpen tells whether the person may open the case now: it is on her list, or she said why.
func (s *Server) mayOpen(r *Request, caseID string, p state.Person) (why string, outside, ok bool) {
	v := r.who
	if s.onList(v, p) {
		return "", false, true
	}
	if v != nil {
		why, ok = v.session.Shown[caseID]
	}
	return why, true, ok
}

// allowed is [Server.mayOpen] without its reason.
func (s *Server) allowed(r *Request, caseID string, p state.Person) bool {
	_, _, ok := s.mayOpen(r, caseID, p)
	return ok
}

// note keeps an access in the access log. Where it fails, nothing may be shown.
func (s *Server) note(r *Request, n accesslog.Noted) error {
	if s.Access == nil {
		return nil
	}
	if v := r.who; v != nil && n.Account == "" {
		n.Account = v.account.Name
	}
	n.Page, n.From = r.Pattern, s.from(r)
	// The line is written also when the time for the answer has run out meanwhile: whoever waited for a busy computer
	// gets the page, and a person who has gone has still asked.
	return s.Access.Note(context.WithoutCancel(r.Context()), s.Now(), n)
}

// from is the address that a request came from. What a proxy says about it counts only when the proxy is trusted.
func (s *Server) from(r *Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	if !s.trusted(host) {
		return host
	}
	list := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(list) - 1; i >= 0; i-- {
		hop := strings.TrimSpace(list[i])
		if _, err := netip.ParseAddr(hop); err != nil {
			return host
		}
		host = hop
		if !s.trusted(hop) {
			break
		}
	}
	return host
}

func (s *Server) trusted(host string) bool {
	a, err := netip.ParseAddr(host)
	if err != nil {
		return false
	}
	for _, p := range s.Proxies {
		if p.Contains(a.Unmap()) {
			return true
		}
	}
	return false
}

const (
	sessionCookie = "lowtide"
	deviceCookie  = "lowtide-computer"
)

// cookie is the full name of a cookie: over TLS with the prefix that keeps other hosts from setting it.
func (s *Server) cookie(name string) string {
	if s.Secure {
		return "__Host-" + name
	}
	return name
}

// setCookie sets a cookie that scripts and other sites never see. age is in seconds; 0 ends with the browser.
func (s *Server) setCookie(r *Request, name, value string, age int) {
	one := http.Cookie{Name: s.cookie(name), Value: value, Path: "/", MaxAge: age, HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.Secure}
	r.header.Add("Set-Cookie", one.String())
}
