package web

import "net/http"

// Needs says who may use a route.
type Needs string

// What routes can need.
const (
	// Nothing: files without any patient in them, and the door itself.
	Nothing Needs = "nothing"
	// Session: a browser that came in through a one-time link.
	Session Needs = "session"
)

// Route is one line of the table.
type Route struct {
	Method string
	Path   string
	Needs  Needs
	// BodyLimit is the greatest body in bytes; 0 refuses any body.
	BodyLimit int64
	Serve     http.HandlerFunc
}

// formLimit is the greatest form: a note of 10,000 characters in four-byte letters, percent-encoded, and the rest.
const formLimit = 256 << 10

// routes is everything that can be asked for.
func (s *Server) routes() []Route {
	return []Route{
		// The door and the files that pages need.
		{"GET", "/open", Nothing, 0, s.openDoor},
		{"GET", "/static/{file}", Nothing, 0, s.showStatic},
		{"POST", "/leave", Session, formLimit, s.leave},

		// Rounds: who needs what.
		{"GET", "/{$}", Session, 0, s.showRounds},

		// Case: one patient's therapy.
		{"GET", "/case/new", Session, 0, s.newCase},
		{"POST", "/case/new", Session, formLimit, s.saveCase},
		{"GET", "/case/{case}", Session, 0, s.showCase},
		{"GET", "/case/{case}/log", Session, 0, s.showLog},

		// Entries: the visit, a form for every other kind, corrections, sign-off.
		{"GET", "/case/{case}/visit", Session, 0, s.newVisit},
		{"POST", "/case/{case}/visit", Session, formLimit, s.saveVisit},
		{"GET", "/case/{case}/add", Session, 0, s.showMenu},
		{"GET", "/case/{case}/add/{kind}", Session, 0, s.newEntry},
		{"POST", "/case/{case}/add/{kind}", Session, formLimit, s.saveEntry},
		{"GET", "/case/{case}/correct/{entry}", Session, 0, s.newCorrection},
		{"POST", "/case/{case}/correct/{entry}", Session, formLimit, s.saveCorrection},
		{"GET", "/case/{case}/sign", Session, 0, s.newSignOff},
		{"POST", "/case/{case}/sign", Session, formLimit, s.saveSignOff},

		// Rulebook: every rule with its source.
		{"GET", "/rules", Session, 0, s.showRules},
		{"GET", "/rules/{rule}", Session, 0, s.showRule},
		{"GET", "/about", Session, 0, s.showAbout},
	}
}
