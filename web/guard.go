package web

import (
	"encoding/hex"
	"io"
	"net"
	"net/http"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"lowtide/web/page"
)

// headers sets what every answer carries. No page has inline script or style, loads anything from elsewhere,
// or may be kept by a cache or shown in a frame.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
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
		if route.Needs == Session && !s.inside(r) {
			s.refuse(w, r, http.StatusUnauthorized, "Lowtide does not know this browser.", "Open the link that Lowtide printed when it started. A link opens it once; the next one is printed after each use.")
			return
		}
		if r.ContentLength > route.BodyLimit {
			s.tooBig(w, r)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, route.BodyLimit)
		route.Serve(w, r)
	})
}

// tooBig answers a body over the limit: far more than every field of a form together can hold.
func (s *Server) tooBig(w http.ResponseWriter, r *http.Request) {
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
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.TrimSuffix(strings.TrimPrefix(name, "["), "]")
	if ip := net.ParseIP(name); ip != nil && ip.IsLoopback() {
		return true
	}
	return strings.EqualFold(name, "localhost") || slices.ContainsFunc(s.Hosts, func(own string) bool {
		return strings.EqualFold(own, name) || strings.EqualFold(own, host)
	})
}

// render writes a page; its HTML is complete before the first byte goes out.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) {
	buf := templ.GetBuffer()
	defer templ.ReleaseBuffer(buf)
	if err := c.Render(r.Context(), buf); err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	buf.WriteTo(w)
}

// frame fills what every page carries.
func (s *Server) frame(title, here string) page.Frame {
	return page.Frame{Title: title, Here: here, Demo: s.Demo, Protocol: s.Rules.Protocol, Author: s.Author}
}

// refuse shows a short page that says what happened and what to do.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, what, next string) {
	s.render(w, r, status, page.Refused(page.RefusedPage{Frame: page.Frame{Title: what, Demo: s.Demo, Outside: status == http.StatusUnauthorized || status == http.StatusForbidden || what == "You have left Lowtide."}, What: what, Next: next}))
}

// fail logs the error under a reference number and shows the number.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	s.wentWrong(w, r, "error", err)
}

func (s *Server) panicked(w http.ResponseWriter, r *http.Request, p any) {
	s.wentWrong(w, r, "panic", p)
}

func (s *Server) wentWrong(w http.ResponseWriter, r *http.Request, kind string, detail any) {
	var b [4]byte
	io.ReadFull(s.Random, b[:]) // a reference of zeros still points to the line in the log
	ref := hex.EncodeToString(b[:])
	if s.Log != nil {
		s.Log.Error("request failed", "reference", ref, "method", r.Method, "pattern", r.Pattern, kind, detail)
	}
	s.refuse(w, r, http.StatusInternalServerError, "Something went wrong inside Lowtide.", "Nothing was written. Try again; if it happens again, give the number "+ref+" to whoever looks after this computer.")
}

// missing answers for an address that is not in the table.
func (s *Server) missing(w http.ResponseWriter, r *http.Request) {
	s.refuse(w, r, http.StatusNotFound, "There is no such page.", "Go to Rounds and open the case from there.")
}
