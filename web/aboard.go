package web

import (
	"net/http"
	"time"

	"lowtide/web/page"
)

// Aboard is what a device knows of itself that makes its pages without the server.
type Aboard struct {
	// Since is when it last heard from the server; zero is never.
	Since time.Time
	// Unsent counts the entries that wait to be sent, Refused those that the server could not take.
	Unsent, Refused int
	// SignIn tells that the server was reached and that nobody is signed in there.
	SignIn bool
}

// personHeader tells a browser's own worker whose page an answer is, by the account's ID: so that a device never shows what
// it keeps for one person to another.
const personHeader = "Lowtide-Person"

// aboard is what a page says of the device that made it; nil on a server.
func (s *Server) aboard() *page.Aboard {
	if s.Aboard == nil {
		return nil
	}
	a, now := s.Aboard(), s.Now()
	out := &page.Aboard{Unsent: a.Unsent, Refused: a.Refused, SignIn: a.SignIn}
	if !a.Since.IsZero() {
		since := a.Since.In(s.Zone)
		out.Since, out.Old = page.SinceWords(since, now.In(s.Zone)), now.Sub(since) > oldAfter
	}
	return out
}

// oldAfter is how long a device goes on without a warning when it has heard nothing: about one visit and its way.
const oldAfter = 2 * time.Hour

// needsNetwork answers on a device for a page that it cannot make: what others did stands in it, or it changes what is
// theirs. A form comes back with what was typed.
func (s *Server) needsNetwork(r *Request, route Route) error {
	if s.Aboard == nil || route.Path == "/open" || atBedside[r.Method+" "+route.Path] {
		return nil
	}
	no := &refusal{status: http.StatusServiceUnavailable, what: "This page needs the network.",
		next: "It shows or changes what others do too, and this phone knows only your own list. Rounds, cases, visits, the Call desk, the Bench and the Rulebook work without it."}
	if r.Method != http.MethodGet {
		no.what, no.next = "This can be saved only with the network.", "Nothing was saved. Leave this page open, or write it on paper, and send it when the network is back."
		no.again = sentAgain(r)
	}
	return no
}
