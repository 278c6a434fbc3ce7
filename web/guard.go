package web

import (
	"context"
	"encoding/hex"
	"errors"
	"io"
	"net"
	"net/http"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// headers sets what every answer carries. No page has inline script or style, loads anything from elsewhere,
// or may be kept by a cache or shown in a frame.
func (s *Server) headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		if s.Secure && !loopbackName(hostName(r.Host)) {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}

// guard checks what the route needs before its handler sees the request, and turns a panic into an answer.
func (s *Server) guard(route Route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil && p != http.ErrAbortHandler {
				s.panicked(w, r, p)
			}
		}()
		ctx, cancel := context.WithTimeout(r.Context(), route.time())
		defer cancel()
		v, err := s.visit(r)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		r = r.WithContext(context.WithValue(ctx, visitorKey{}, v))
		if !s.pace.allow(v, s.from(r), s.Now()) {
			w.Header().Set("Retry-After", "5")
			s.refuse(w, r, http.StatusTooManyRequests, "That was too much at once.", "Wait a few seconds and try again.")
			return
		}
		if !s.admit(w, r, route.Needs) {
			return
		}
		if r.ContentLength > route.BodyLimit {
			s.tooBig(w, r)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, route.BodyLimit)
		if strings.Contains(route.Path, "{case}") && !route.Needs.Kept {
			var ok bool
			if r, ok = s.seeCase(w, r); !ok {
				return
			}
		}
		route.Serve(w, r)
	})
}

// admit judges what a route needs. It is false when the answer was given here.
func (s *Server) admit(w http.ResponseWriter, r *http.Request, n Needs) bool {
	v := who(r)
	switch {
	case n.Open:
		return true
	case n.SetUp:
		set, err := s.accounts(r.Context())
		if err != nil {
			s.fail(w, r, err)
			return false
		}
		if s.Accounts == nil || !set.Empty() {
			s.missing(w, r)
			return false
		}
		return true
	case v == nil && s.Accounts == nil:
		s.refuse(w, r, http.StatusUnauthorized, "Lowtide does not know this browser.", "Open the link that Lowtide printed when it started. A link opens it once; the next one is printed after each use.")
		return false
	case v == nil:
		s.showSignIn(w, r, http.StatusUnauthorized, page.Ask{})
		return false
	case !v.account.Is(n.Roles...):
		if err := s.note(r, accesslog.Noted{What: accesslog.Refused, Case: r.PathValue("case")}); err != nil {
			s.fail(w, r, err)
			return false
		}
		s.refuse(w, r, http.StatusForbidden, "Your account may not open this page.", "If you need it for your work, ask an administrator.")
		return false
	case v.wantsPasskey() && !n.Own && len(v.account.Passkeys) == 0:
		s.refuse(w, r, http.StatusForbidden, "Your agency asks everybody for a passkey.", "Open your own account, add one, and go on from there.")
		return false
	case v.wantsPasskey() && !n.Own:
		s.showAgain(w, r, http.StatusForbidden, "")
		return false
	case n.Strong && !v.session.Strong() && !v.account.SecondFactor():
		s.refuse(w, r, http.StatusForbidden, "Administrators need a second factor.", "Open your own account and add a passkey or one-time codes first.")
		return false
	case n.Strong && !v.session.Strong(), n.Held && v.account.MayChange(v.session.By) != nil, n.Fresh && !v.session.Fresh(s.Now()):
		s.showAgain(w, r, http.StatusForbidden, "")
		return false
	}
	return true
}

// tooBig answers a body over the limit: far more than every field of a form together can hold.
func (s *Server) tooBig(w http.ResponseWriter, r *http.Request) {
	if strings.Contains(r.URL.Path, "/pump-log/") {
		s.refuse(w, r, http.StatusRequestEntityTooLarge, "The log is larger than 200 MB.", "Nothing was imported. Import it in parts, such as a file a month; the command lowtide log reads a file of any size.")
		return
	}
	s.refuse(w, r, http.StatusRequestEntityTooLarge, "That is more than this page takes.", "Nothing was saved. Go back, shorten the longest text and send the form again.")
}

// hosts answers only requests that name this computer, or a name that the server was given. A page elsewhere that
// makes its own name lead to this computer is turned away: the browser sends that name.
func (s *Server) hosts(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.knowsHost(r.Host) {
			s.refuse(w, r, http.StatusForbidden, "Lowtide does not answer to this name.", "Open the link that Lowtide printed when it started.")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// knowsHost tells whether a Host header, with or without a port, is a loopback name or one of the server's own.
func (s *Server) knowsHost(host string) bool {
	name := hostName(host)
	if loopbackName(name) {
		return true
	}
	return slices.ContainsFunc(s.Hosts, func(own string) bool {
		return strings.EqualFold(own, name) || strings.EqualFold(own, host)
	})
}

// hostName is the name in a Host header, without its port.
func hostName(host string) string {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	return strings.TrimSuffix(strings.TrimPrefix(name, "["), "]")
}

func loopbackName(name string) bool {
	ip := net.ParseIP(name)
	return ip != nil && ip.IsLoopback() || strings.EqualFold(name, "localhost")
}

// render writes a page; its HTML is complete before the first byte goes out.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) {
	if err := sendPage(w, r, status, c); err != nil {
		s.fail(w, r, err)
	}
}

// sendPage makes the HTML and sends it. What a page shows is complete before it is drawn, so a request that ran out of
// time or whose reader left still gets its answer; nothing is sent when the template fails.
func sendPage(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	buf := templ.GetBuffer()
	defer templ.ReleaseBuffer(buf)
	if err := c.Render(context.WithoutCancel(r.Context()), buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	buf.WriteTo(w)
	return nil
}

// frame fills what every page carries.
func (s *Server) frame(r *http.Request, title, here string) page.Frame {
	f := page.Frame{Title: title, Here: here, Demo: s.Demo, Protocol: s.Rules.Protocol, Author: s.author(r), Outside: who(r) == nil}
	if who(r) != nil {
		for _, d := range s.Differences {
			f.Warnings = append(f.Warnings, d+" Entries may be missing: compare with what you know and with paper, and tell an administrator.")
		}
	}
	if v := who(r); v != nil && s.Accounts != nil {
		f.Account = &page.FrameAccount{Shown: v.account.Shown, Clinical: v.account.Is(account.Clinical...), Nurse: v.account.Is(account.Nurse), Stores: v.account.Is(account.Stores), Admin: v.account.Is(account.Admin)}
	}
	return f
}

// refuse shows a short page that says what happened and what to do.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, what, next string) {
	if s.refuseFHIR(w, r, status, what+" "+next) {
		return
	}
	f := s.frame(r, what, "")
	f.Outside = f.Outside || status == http.StatusUnauthorized
	// A failure here must not come back here: the words go out plain.
	if err := sendPage(w, r, status, page.Refused(page.RefusedPage{Frame: f, What: what, Next: next})); err != nil {
		s.logged(r, "error", err)
		http.Error(w, what+" "+next, status)
	}
}

// fail logs the error under a reference number and shows the number.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	switch {
	case s.erased(w, r, err):
	case errors.Is(err, casebook.ErrNotBrought):
		s.refuse(w, r, http.StatusNotFound, "This photo or log is not here.", page.NotBroughtWords)
	default:
		s.wentWrong(w, r, "error", err)
	}
}

func (s *Server) panicked(w http.ResponseWriter, r *http.Request, p any) {
	s.wentWrong(w, r, "panic", p)
}

func (s *Server) wentWrong(w http.ResponseWriter, r *http.Request, kind string, detail any) {
	ref := s.logged(r, kind, detail)
	s.refuse(w, r, http.StatusInternalServerError, "Something went wrong inside Lowtide.", "Nothing was written. Try again; if it happens again, give the number "+ref+" to whoever looks after this computer.")
}

// logged writes what went wrong to the server's log under a reference number, which it returns. The pattern of the
// address stands there, never the address: that has case numbers and sign-in names in it.
func (s *Server) logged(r *http.Request, kind string, detail any) string {
	var b [4]byte
	io.ReadFull(s.Random, b[:]) // a reference of zeros still points to the line in the log
	ref := hex.EncodeToString(b[:])
	if s.Log != nil {
		s.Log.Error("request failed", "reference", ref, "method", r.Method, "pattern", r.Pattern, kind, detail)
	}
	return ref
}

// missing answers for an address that is not in the table.
func (s *Server) missing(w http.ResponseWriter, r *http.Request) {
	s.refuse(w, r, http.StatusNotFound, "There is no such page.", "Go to Rounds and open the case from there.")
}
