package web

import (
	"io"
	"log/slog"
	"net/http"
	"time"

	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
)

// Server answers requests over one caseload.
type Server struct {
	Caseload  *review.Caseload
	Rules     *rule.Set
	Equipment *equipment.Set
	// Now is the clock and Random the source of IDs and keys: both come from the command.
	Now    func() time.Time
	Random io.Reader
	// Demo marks every page as invented.
	Demo bool
	// Author is the account that entries are written by until there are accounts.
	Author string
	// Zone is the time zone of pages that belong to no patient.
	Zone *time.Location
	// Log takes what went wrong inside, with a reference number and never with a name.
	Log *slog.Logger
	// Hosts are names, beside those of this computer itself, under which browsers may reach the server. It may be nil.
	Hosts []string
	// LinkUsed is called after a one-time link was used; the command then prints the next one. It may be nil.
	LinkUsed func()

	doors doors
}

// Handler returns the handler of every route, with its guards.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, r := range s.routes() {
		mux.Handle(r.Method+" "+r.Path, s.guard(r))
	}
	mux.Handle("/", s.guard(Route{Method: "GET", Path: "/", Needs: Session, Serve: s.missing}))
	return headers(s.hosts(http.NewCrossOriginProtection().Handler(mux)))
}
