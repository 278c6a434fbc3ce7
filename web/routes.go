package web

import (
	"net/http"
	"time"
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
// smallForm is for forms of a few short fields.
const (
	formLimit = 256 << 10
	smallForm = 16 << 10
)

// answerTimes are the longest times for an answer, by method and path; all others have answerTime. A list that is
// still being read answers with what is ready; an export of a year is long.
var answerTimes = map[string]time.Duration{
	"GET /{$}":                          10 * time.Second,
	"GET /static/{file}":                5 * time.Second,
	"GET /access/export":                55 * time.Second,
	"GET /bench":                        10 * time.Second,
	"GET /case/{case}/bench":            10 * time.Second,
	"POST /case/{case}/photo":           photoTime,
	"POST /case/{case}/pump-log/import": photoTime,
	"POST /case/{case}/pump-log/look":   photoTime,
	"POST /case/{case}/bring":           photoTime,
}

// answerTime is the longest time for an answer, where the table above names no other.
const answerTime = 25 * time.Second

// time is the longest time for an answer of the route.
func (r Route) time() time.Duration {
	if t, ok := answerTimes[r.Method+" "+r.Path]; ok {
		return t
	}
	return answerTime
}

// Routes is everything that can be asked for. Each line says who may; a route without a rule lets nobody in.
func (s *Server) Routes() []Route {
	return []Route{
		// The door and the files that pages need.
		{"GET", "/open", Nothing, 0, s.openDoor},
		{"GET", "/static/{file}", Nothing, 0, s.showStatic},
		{"GET", "/set-up", SetUp, 0, s.setUp},
		{"POST", "/set-up", SetUp, smallForm, s.saveSetUp},
		{"GET", "/sign-in", Nothing, 0, s.signIn},
		{"POST", "/sign-in", Nothing, smallForm, s.saveSignIn},
		{"POST", "/sign-in/code", Nothing, smallForm, s.saveCode},
		{"POST", "/passkey/begin", Nothing, smallForm, s.passkeyBegin},
		{"POST", "/passkey/finish", Nothing, passkeyLimit, s.passkeyFinish},
		{"GET", "/link", Nothing, 0, s.newPasswordByLink},
		{"POST", "/link", Nothing, smallForm, s.savePasswordByLink},
		{"POST", "/leave", Own, smallForm, s.leave},
		{"POST", "/switch", Own, smallForm, s.switchPerson},
		{"POST", "/stay", Own, smallForm, s.stay},
		{"GET", "/again", Own, 0, s.again},
		{"POST", "/again", Own, smallForm, s.saveAgain},
		{"GET", "/who", Own, 0, s.chooseWho},
		{"POST", "/who", Own, smallForm, s.saveWho},

		// One's own account.
		{"GET", "/me", Own, 0, s.showMe},
		{"POST", "/me/password", OwnFresh, smallForm, s.savePassword},
		{"POST", "/me/passkey/begin", OwnFresh, smallForm, s.passkeyAddBegin},
		{"POST", "/me/passkey/finish", OwnFresh, passkeyLimit, s.passkeyAddFinish},
		{"POST", "/me/passkey/remove", OwnFresh, smallForm, s.removePasskey},
		{"POST", "/me/codes/new", OwnFresh, smallForm, s.newCodes},
		{"POST", "/me/codes", OwnFresh, smallForm, s.saveCodes},
		{"POST", "/me/codes/remove", OwnFresh, smallForm, s.removeCodes},
		{"POST", "/me/everywhere", Own, smallForm, s.everywhere},
		{"POST", "/me/session", Own, smallForm, s.endMine},

		// Rounds: who needs what. A person without a clinical role is shown another start.
		{"GET", "/{$}", Anyone, 0, s.home},
		{"GET", "/others", Reads, 0, s.showOthers},

		// FHIR for other systems: read only, each request with a token that its handler judges.
		{"GET", "/fhir/metadata", Nothing, 0, s.showMetadata},
		{"GET", "/fhir/{type}", Nothing, 0, s.searchFHIR},
		{"GET", "/fhir/{type}/{id}", Nothing, 0, s.readFHIR},

		// Pumps: who has which.
		{"GET", "/pumps", Ledger, 0, s.showPumps},
		{"GET", "/pumps/pdf", Ledger, 0, s.sendPumps},

		// Bench: trying a program before it is set. The first belongs to no patient.
		{"GET", "/bench", Anyone, 0, s.showBench},
		{"GET", "/case/{case}/bench", Reads, 0, s.showCaseBench},

		// Call desk: a telephone call about a pump, with a case or without one.
		{"GET", "/call", Writes, 0, s.showCallDesk},
		{"POST", "/call", Writes, smallForm, s.startDeskCall},
		{"GET", "/call/found", Writes, 0, s.showCallsFound},
		{"GET", "/call/{call}", Writes, 0, s.showDeskCall},
		{"POST", "/call/{call}", Writes, formLimit, s.saveDeskCall},
		{"GET", "/case/{case}/call", Writes, 0, s.showCaseCall},
		{"POST", "/case/{case}/call", Writes, smallForm, s.startCaseCall},
		{"GET", "/case/{case}/call/{call}", Writes, 0, s.showCall},
		{"POST", "/case/{case}/call/{call}", Writes, formLimit, s.saveCall},

		// Case: one patient's therapy.
		{"GET", "/case/new", Writes, 0, s.newCase},
		{"POST", "/case/new", Writes, formLimit, s.saveCase},
		{"GET", "/case/{case}", Reads, 0, s.showCase},
		{"GET", "/case/{case}/log", Reads, 0, s.showLog},
		{"GET", "/case/{case}/wound/{wound}", Reads, 0, s.showWound},
		{"GET", "/case/{case}/decision", Reads, 0, s.showDecision},
		{"GET", "/case/{case}/pump-log", Reads, 0, s.showPumpLog},
		{"POST", "/case/{case}/pump-log/import", Writes, pumpLogLimit, s.savePumpLog},
		{"POST", "/case/{case}/pump-log/look", Writes, pumpLogLimit, s.lookPumpLog},
		{"GET", "/case/{case}/papers", Reads, 0, s.showPapers},
		{"GET", "/case/{case}/paper/{kind}", Reads, 0, s.showPaper},
		{"GET", "/case/{case}/paper/{kind}/pdf", Reads, 0, s.sendPaper},
		{"GET", "/case/{case}/fhir", Reads, 0, s.sendBundle},
		{"GET", "/case/{case}/bring", Writes, 0, s.newBring},
		{"POST", "/case/{case}/bring", Writes, bringLimit, s.saveBring},
		{"POST", "/case/{case}/bring/{kind}", Writes, formLimit, s.openBrought},
		{"GET", "/case/{case}/why", Reasons, 0, s.why},
		{"POST", "/case/{case}/why", Reasons, smallForm, s.saveWhy},
		{"GET", "/case/{case}/erase", Erases, 0, s.newErase},
		{"POST", "/case/{case}/erase", Erases, smallForm, s.saveErase},

		// Entries: the visit, a form for every other kind, corrections, sign-off.
		{"GET", "/case/{case}/visit", Writes, 0, s.newVisit},
		{"POST", "/case/{case}/visit", Writes, formLimit, s.saveVisit},
		{"POST", "/case/{case}/visit/{entry}/used", Writes, smallForm, s.saveUsed},
		{"GET", "/case/{case}/add", Orders, 0, s.showMenu},
		{"GET", "/case/{case}/add/{kind}", Orders, 0, s.newEntry},
		{"POST", "/case/{case}/add/{kind}", Orders, formLimit, s.saveEntry},
		{"GET", "/case/{case}/correct/{entry}", Writes, 0, s.newCorrection},
		{"POST", "/case/{case}/correct/{entry}", Writes, formLimit, s.saveCorrection},
		{"GET", "/case/{case}/sign", Orders, 0, s.newSignOff},
		{"POST", "/case/{case}/sign", Orders, formLimit, s.saveSignOff},

		// Photos and outlines.
		{"GET", "/case/{case}/wound/{wound}/edge", Reads, 0, s.showEdge},
		{"GET", "/case/{case}/photo", Writes, 0, s.newPhoto},
		{"POST", "/case/{case}/photo", Writes, photoLimit, s.savePhoto},
		{"GET", "/case/{case}/photo/{entry}", Reads, 0, s.showPhoto},
		{"GET", "/case/{case}/outline/{entry}", Reads, 0, s.showOutline},
		{"POST", "/case/{case}/outline/{entry}/confirm", Writes, formLimit, s.saveOutline},
		{"POST", "/case/{case}/outline/{entry}/edge", Writes, formLimit, s.pullEdge},
		{"POST", "/case/{case}/outline/{entry}/measure", Writes, formLimit, s.measureOutline},
		{"GET", "/strips/{paper}", Anyone, 0, s.showStrips},

		// Stores: the agency's stock, without patients; who got a lot; what to bring to the day's visits.
		{"GET", "/stores", Stocks, 0, s.showStores},
		{"POST", "/stores/moved", Stocks, smallForm, s.saveStores},
		{"POST", "/stores/counted", Stocks, smallForm, s.saveStores},
		{"POST", "/stores/recalled", Stocks, smallForm, s.saveStores},
		{"POST", "/stores/planned", Stocks, smallForm, s.saveStores},
		{"GET", "/stores/lot", Reads, 0, s.showLot},
		{"GET", "/bag", Writes, 0, s.showBag},
		{"GET", "/bag/pdf", Writes, 0, s.sendBag},
		{"POST", "/bag", Writes, smallForm, s.saveBag},

		// Accounts, the access log, and the way to erasing a case, which shows nothing of it.
		{"GET", "/erase", Admin, 0, s.chooseErase},
		{"GET", "/accounts", Admin, 0, s.showAccounts},
		{"GET", "/tokens", AdminFresh, 0, s.showTokens},
		{"POST", "/tokens", AdminFresh, smallForm, s.saveToken},
		{"POST", "/tokens/end", AdminFresh, smallForm, s.endToken},
		{"GET", "/accounts/new", AdminFresh, 0, s.newAccount},
		{"POST", "/accounts/new", AdminFresh, smallForm, s.saveAccount},
		{"GET", "/account/{name}", Admin, 0, s.showAccount},
		{"POST", "/account/{name}/roles", AdminFresh, smallForm, s.saveRoles},
		{"POST", "/account/{name}/disable", AdminFresh, smallForm, s.saveDisabled},
		{"POST", "/account/{name}/link", AdminFresh, smallForm, s.saveLink},
		{"POST", "/account/{name}/second", AdminFresh, smallForm, s.removeSecond},
		{"POST", "/account/{name}/session", AdminFresh, smallForm, s.endTheirs},
		{"POST", "/accounts/passkeys", AdminFresh, smallForm, s.askPasskeys},
		{"GET", "/access", Admin, 0, s.showAccess},
		{"GET", "/access/export", Admin, 0, s.exportAccess},

		// Rulebook: every rule with its source.
		{"GET", "/rules", Anyone, 0, s.showRules},
		{"GET", "/sources", Anyone, 0, s.showSources},
		{"GET", "/rules/{rule}", Anyone, 0, s.showRule},
		{"GET", "/seal", Seals, 0, s.showDaySeal},
		{"GET", "/about", Anyone, 0, s.showAbout},
	}
}
