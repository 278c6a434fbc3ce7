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
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		// Nothing goes to other places; on forms of our own pages it keeps the Origin, by which browsers without
		// Sec-Fetch-Site are judged.
		h.Set("Referrer-Policy", "same-origin")
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

// guard stands before every route and turns a panic into an answer.
func (s *Server) guard(route Route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, in *http.Request) {
		ctx, cancel := context.WithTimeout(in.Context(), route.time())
		defer cancel()
		r := &Request{Request: in.WithContext(ctx), header: w.Header()}
		defer func() {
			if p := recover(); p != nil && p != http.ErrAbortHandler {
				s.wentWrong(w, r, "panic", p)
			}
		}()
		a, err := s.pass(w, r, route)
		s.answer(w, r, route.Takes, a, err)
	})
}

// pass checks what the route needs, opens what it takes, and hands the request to its handler.
func (s *Server) pass(w http.ResponseWriter, r *Request, route Route) (Answer, error) {
	var err error
	if r.who, err = s.visit(r); err != nil {
		return nil, err
	}
	if r.who != nil && s.Aboard == nil {
		r.header.Set(personHeader, r.who.account.ID)
	}
	if !s.pace.allow(r.who, s.from(r), s.Now()) {
		r.header.Set("Retry-After", "5")
		return nil, refuse(http.StatusTooManyRequests, "That was too much at once.", "Wait a few seconds and try again.")
	}
	r.Body = http.MaxBytesReader(w, r.Body, route.Takes.Limit)
	if err := s.admit(r, route.Needs); err != nil {
		return nil, err
	}
	if r.ContentLength > route.Takes.Limit {
		return nil, &http.MaxBytesError{Limit: route.Takes.Limit}
	}
	if strings.Contains(route.Path, "{case}") && !route.Needs.Kept {
		if err := s.seeCase(r); err != nil {
			return nil, err
		}
	}
	if err := s.take(w, r, route.Takes); err != nil {
		return nil, err
	}
	if err := s.needsNetwork(r, route); err != nil {
		return nil, err
	}
	a, err := route.Serve(r)
	if casebook.TakesNothing(err) && r.form.Has("-key") {
		// The form comes back as it was typed, with the sentence above it. "-more" asks a form for itself.
		r.warning = unwritten(err)
		r.form.Set("-more", "-")
		if again, wrong := route.Serve(r); wrong == nil {
			if p, ok := again.(shown); ok {
				return shown{http.StatusServiceUnavailable, p.page}, nil
			}
		}
	}
	return a, err
}

// unwritten says why nothing can be saved now, and what to do.
func unwritten(err error) string {
	switch {
	case errors.Is(err, casebook.ErrFull):
		return "The disk is full, so nothing was saved. You can go on reading. Tell whoever looks after this computer to make room, then send it again; keep it on paper until then."
	case errors.Is(err, casebook.ErrReadOnly):
		return "The store can only be read at this moment, so nothing was saved. You can go on reading. Tell whoever looks after this computer, then send it again; keep it on paper until then."
	}
	return "The store is busy, so nothing was saved. Wait a few seconds and send it again."
}

// admit judges what a route needs. The error says why the request goes no further.
func (s *Server) admit(r *Request, n Needs) error {
	v := r.who
	switch {
	case n.Open:
		return nil
	case n.SetUp:
		set, err := s.accounts(r.Context())
		if err == nil && (s.Accounts == nil || !set.Empty()) {
			return errMissing
		}
		return err
	case v == nil && s.Accounts == nil:
		return refuse(http.StatusUnauthorized, "Lowtide does not know this browser.", "Open the link that Lowtide printed when it started. A link opens it once; the next one is printed after each use.")
	case v == nil:
		return first(s.showSignIn(r, http.StatusUnauthorized, page.Ask{}))
	case !v.account.Is(n.Roles...):
		if err := s.note(r, accesslog.Noted{What: accesslog.Refused, Case: r.PathValue("case")}); err != nil {
			return err
		}
		return refuse(http.StatusForbidden, "Your account may not open this page.", "If you need it for your work, ask an administrator.")
	case v.wantsPasskey() && !n.Own && len(v.account.Passkeys) == 0:
		return refuse(http.StatusForbidden, "Your agency asks everybody for a passkey.", "Open your own account, add one, and go on from there.")
	case v.wantsPasskey() && !n.Own:
		return first(s.showAgain(r, http.StatusForbidden, ""))
	case n.Strong && !v.session.Strong() && !v.account.SecondFactor():
		return refuse(http.StatusForbidden, "Administrators need a second factor.", "Open your own account and add a passkey or one-time codes first.")
	case n.Strong && !v.session.Strong(), n.Held && v.account.MayChange(v.session.By) != nil, n.Fresh && !v.session.Fresh(s.Now()):
		return first(s.showAgain(r, http.StatusForbidden, ""))
	}
	return nil
}

// hosts answers only requests that name this computer, or a name that the server was given. A page elsewhere that
// makes its own name lead to this computer is turned away: the browser sends that name.
func (s *Server) hosts(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.knowsHost(r.Host) {
			s.answer(w, &Request{Request: r, header: w.Header()}, none, nil, refuse(http.StatusForbidden, "Lowtide does not answer to this name.", "Open the link that Lowtide printed when it started."))
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

// sendPage makes the HTML and sends it. What a page shows is complete before it is drawn, so a request that ran out of
// time or whose reader left still gets its answer; nothing is sent when the template fails.
func sendPage(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	buf := templ.GetBuffer()
	defer templ.ReleaseBuffer(buf)
	if err := c.Render(context.WithoutCancel(r.Context()), buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if buf.Len() >= packLeast && mayPack(r) {
		pack(w, status, buf.Bytes())
		return nil
	}
	w.WriteHeader(status)
	buf.WriteTo(w)
	return nil
}

// frame fills what every page carries.
func (s *Server) frame(r *Request, title, here string) page.Frame {
	f := page.Frame{Title: title, Here: here, Demo: s.Demo, Protocol: s.Rules.Protocol, Author: s.author(r), Outside: r.who == nil, Look: s.look(r), Draft: s.draft(r), Aboard: s.aboard()}
	if r.Method == http.MethodGet {
		f.Path = r.URL.EscapedPath()
	}
	if s.Frozen && r.warning == "" {
		f.Warnings = append(f.Warnings, "Lowtide can only be read: when it was started, its disk took nothing. Nothing that you send is saved. Write on paper, and tell whoever looks after this computer to mend the disk and start Lowtide again.")
	}
	if r.who != nil {
		if r.warning != "" {
			f.Warnings = append(f.Warnings, r.warning)
		} else if !s.Frozen && s.Access != nil && s.Access.Held() > 0 {
			f.Warnings = append(f.Warnings, "At this moment Lowtide can be read, and saves nothing: the disk is full, or cannot be written to. Tell whoever looks after this computer, and write on paper until this is gone.")
		}
		for _, d := range s.Differences {
			f.Warnings = append(f.Warnings, d+" Entries may be missing: compare with what you know and with paper, and tell an administrator.")
		}
	}
	if v := r.who; v != nil && s.Accounts != nil {
		f.Account = &page.FrameAccount{Shown: v.account.Shown, Clinical: v.account.Is(account.Clinical...), Nurse: v.account.Is(account.Nurse), Stores: v.account.Is(account.Stores), Admin: v.account.Is(account.Admin)}
	}
	return f
}

// refuse shows a short page that says what happened and what to do. Other systems get it in FHIR's own form.
func (s *Server) refuse(w http.ResponseWriter, r *Request, no *refusal) {
	if s.Exchange != nil && s.Accounts != nil && strings.HasPrefix(r.URL.Path, "/fhir/") {
		s.outcome(no).send(w, r.Request)
		return
	}
	f := s.frame(r, no.what, "")
	f.Outside = f.Outside || no.status == http.StatusUnauthorized
	// A failure here must not come back here: the words go out plain.
	if err := sendPage(w, r.Request, no.status, page.Refused(page.RefusedPage{Frame: f, What: no.what, Next: no.next, Again: no.again})); err != nil {
		s.logged(r, "error", err)
		http.Error(w, no.Error(), no.status)
	}
}

// fail says why a case or a file cannot be shown; any other error is logged under a reference number, which is shown.
func (s *Server) fail(w http.ResponseWriter, r *Request, err error) {
	var gone *casebook.ErasedError
	switch {
	case errors.As(err, &gone):
		s.refuse(w, r, &refusal{status: http.StatusGone, what: "This case was erased.", next: "It was erased on " + gone.At.Format("2 January 2006") + " by " + gone.By + " because: " + gone.Reason + ". Nobody can read it again."})
	case errors.Is(err, casebook.ErrNotBrought):
		s.refuse(w, r, &refusal{status: http.StatusNotFound, what: "This photo or log is not here.", next: page.NotBroughtWords})
	case casebook.TakesNothing(err):
		s.logged(r, "error", err)
		s.refuse(w, r, &refusal{status: http.StatusServiceUnavailable, what: "Nothing could be saved.", next: unwritten(err), again: sentAgain(r)})
	default:
		s.wentWrong(w, r, "error", err)
	}
}

func (s *Server) wentWrong(w http.ResponseWriter, r *Request, kind string, detail any) {
	ref := s.logged(r, kind, detail)
	s.refuse(w, r, &refusal{status: http.StatusInternalServerError, what: "Something went wrong inside Lowtide.", next: "Nothing was written. Try again; if it happens again, give the number " + ref + " to whoever looks after this computer."})
}

// logged writes what went wrong to the server's log under a reference number, which it returns. The pattern of the
// address stands there, never the address: that has case numbers and sign-in names in it.
func (s *Server) logged(r *Request, kind string, detail any) string {
	var b [4]byte
	io.ReadFull(s.Random, b[:]) // a reference of zeros still points to the line in the log
	ref := hex.EncodeToString(b[:])
	if s.Log != nil {
		s.Log.Error("request failed", "reference", ref, "method", r.Method, "pattern", r.Pattern, kind, detail)
	}
	return ref
}

// tell shows a short page that says what was done and what comes next.
func (s *Server) tell(r *Request, what, next string) (Answer, error) {
	return show(http.StatusOK, page.Refused(page.RefusedPage{Frame: s.frame(r, what, ""), What: what, Next: next}))
}

// missing answers for an address that is not in the table.
func missing(*Request) (Answer, error) { return nil, errMissing }
