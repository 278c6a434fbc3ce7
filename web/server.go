package web

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"filippo.io/age"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/report"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/web/page"
	"lowtide/week"
)

// Server answers requests over one caseload.
type Server struct {
	Caseload  *caseload.Caseload
	Rules     *rule.Set
	Equipment *equipment.Set
	// Calls is what the Call desk goes by; nil is what the program brings.
	Calls *state.CallModel
	// Now is the clock and Random the source of IDs and keys: both come from the command.
	Now    func() time.Time
	Random io.Reader
	// Line is the machine's clock, by which connections keep their deadlines; Now may be another one. It may be nil: then a
	// file has no more time than a form.
	Line func() time.Time
	// Demo marks every page as invented.
	Demo bool
	// Accounts says who may come in, and Hasher judges passwords. Without accounts everybody who comes through a
	// one-time link is Author, a nurse: for one person's own browser worker, and for tests. Passkeys may be nil.
	Accounts *account.Directory
	Hasher   *account.Hasher
	Passkeys Passkeys
	// Access takes who read and changed what. Without accounts it may be nil.
	Access *accesslog.Log
	// Differences say in which ways the store and its access log did not fit when the server was started: every page
	// shows them. DaySeal makes the seal of the day; it may be nil.
	Differences []string
	DaySeal     func(ctx context.Context) (accesslog.DaySeal, error)
	// Frozen says that the store took nothing when the server was started: it is read, and nothing is saved until it is
	// started anew.
	Frozen bool
	// Erase destroys a case's key for good. It may be nil: then nothing can be erased.
	Erase func(ctx context.Context, caseID, by, reason string) error
	// DraftKey is what the keys of half-filled forms on devices are made from; it is the same after a restart. Without one
	// no form is kept.
	DraftKey []byte
	// Secure says that browsers reach the server over TLS, its own or a proxy's.
	Secure bool
	// Proxies are the addresses whose word counts about where a request came from.
	Proxies []netip.Prefix
	// Author is the account whose session a one-time link opens.
	Author string
	// Files are the agency's own, which a device needs for its pages: the folder of the local protocol under local/, and
	// equipment.toml. They may be nil.
	Files map[string][]byte
	// Zone is the time zone of pages that belong to no patient.
	Zone *time.Location
	// Log takes what went wrong inside, with a reference number and never with a name.
	Log *slog.Logger
	// Hosts are names, beside those of this computer itself, under which browsers may reach the server. It may be nil.
	Hosts []string
	// PDF puts a paper on "A4" or "Letter". Bundle writes a case as a FHIR R4 Bundle. Either may be nil: then there are none.
	PDF    func(p *report.Paper, size string) ([]byte, error)
	Bundle func(in report.Input) ([]byte, error)
	// Exchange answers other systems. It may be nil: then there is no /fhir.
	Exchange Exchange
	// Foreign reads a file of another system into proposals. It may be nil: then none can be brought in.
	Foreign func(raw []byte) (page.Brought, error)
	// Roads gives travel times between places that have degrees, and a sentence on where they come from. It may be nil:
	// then ways are computed from the map.
	Roads func(ctx context.Context, places []week.Place) ([]week.Leg, string)
	// Program gives Lowtide built for browsers, for devices that keep a list. It may be nil: then none does.
	Program func(ctx context.Context) (Program, error)
	// Aboard says what a device knows that makes its pages by itself; nil on a server.
	Aboard func() Aboard
	// LinkUsed is called after a one-time link was used; the command then prints the next one. It may be nil.
	LinkUsed func()

	doors doors
	pace  pace
	// meetings opens what devices send.
	meetings struct {
		sync.Mutex
		key *age.X25519Identity
	}
	// patients finds cases for other systems.
	patients patientIndex
	// weekly is the newest plan of the week.
	weekly struct {
		sync.Mutex
		weekKept
	}
}

// Handler returns the handler of every route, with its guards.
func (s *Server) Handler() http.Handler {
	if s.Accounts == nil || s.Demo {
		s.doors.sessions.Idle = account.AbsoluteLimit // one person's own browser, or nobody's data
	}
	mux := http.NewServeMux()
	for _, r := range s.Routes() {
		mux.Handle(r.Method+" "+r.Path, s.guard(r))
	}
	mux.Handle("/fhir/", s.guard(Route{Path: "/fhir/", Needs: Nothing, Takes: script, Serve: s.noSuchFHIR}))
	mux.Handle("/", s.guard(Route{Path: "/", Needs: Anyone, Serve: missing}))
	return s.headers(s.hosts(http.NewCrossOriginProtection().Handler(mux)))
}
