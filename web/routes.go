package web

import "time"

// Route is one line of the table.
type Route struct {
	Method string
	Path   string
	Needs  Needs
	Takes  Takes
	Serve  Handler
}

// answerTimes are the longest times for an answer, by method and path; all others have answerTime. A list that is
// still being read answers with what is ready; an export of a year is long.
var answerTimes = map[string]time.Duration{
	"GET /{$}":                          10 * time.Second,
	"GET /static/{mark}/{file}":         5 * time.Second,
	"GET /worker.js":                    5 * time.Minute, // run from its source, the program is built at the first request
	"GET /program/{mark}/{file}":        5 * time.Minute,
	"GET /access/export":                55 * time.Second,
	"GET /bench":                        10 * time.Second,
	"GET /case/{case}/bench":            10 * time.Second,
	"POST /case/{case}/photo":           fileTime,
	"POST /case/{case}/pump-log/import": fileTime,
	"POST /case/{case}/pump-log/look":   fileTime,
	"POST /case/{case}/bring":           fileTime,
	"POST /meet/push":                   fileTime,
	"POST /meet/small":                  40 * time.Second,
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
		{"GET", "/open", Nothing, none, s.openDoor},
		{"GET", "/static/{mark}/{file}", Nothing, none, s.showStatic},
		{"GET", "/worker.js", Nothing, none, s.showWorker},
		{"GET", "/program/{mark}/{file}", Nothing, none, s.showProgram},
		{"GET", "/manifest.webmanifest", Nothing, none, s.showManifest},
		{"GET", "/icon/{size}", Nothing, none, s.showIcon},
		{"GET", "/set-up", SetUp, none, s.setUp},
		{"POST", "/set-up", SetUp, smallForm, s.saveSetUp},
		{"GET", "/sign-in", Nothing, none, s.signIn},
		{"POST", "/sign-in", Nothing, smallForm, s.saveSignIn},
		{"POST", "/sign-in/code", Nothing, smallForm, s.saveCode},
		{"POST", "/passkey/begin", Nothing, smallScript, s.passkeyBegin},
		{"POST", "/passkey/finish", Nothing, keyScript, s.passkeyFinish},
		{"GET", "/link", Nothing, none, s.newPasswordByLink},
		{"POST", "/link", Nothing, smallForm, s.savePasswordByLink},
		{"POST", "/leave", Own, smallForm, s.leave},
		{"POST", "/switch", Own, smallForm, s.switchPerson},
		{"POST", "/look", Own, smallForm, s.saveLook},
		{"POST", "/stay", Own, smallForm, stay},
		{"GET", "/again", Own, none, s.again},
		{"POST", "/again", Own, smallForm, s.saveAgain},
		{"GET", "/who", Own, none, s.chooseWho},
		{"POST", "/who", Own, smallForm, s.saveWho},

		// The phone in one's hand.
		{"GET", "/phone", Own, none, s.showPhone},

		// One's own account.
		{"GET", "/me", Own, none, s.showMe},
		{"POST", "/me/password", OwnFresh, smallForm, s.savePassword},
		{"POST", "/me/passkey/begin", OwnFresh, smallScript, s.passkeyAddBegin},
		{"POST", "/me/passkey/finish", OwnFresh, keyScript, s.passkeyAddFinish},
		{"POST", "/me/passkey/remove", OwnFresh, smallForm, s.removePasskey},
		{"POST", "/me/codes/new", OwnFresh, smallForm, s.newCodes},
		{"POST", "/me/codes", OwnFresh, smallForm, s.saveCodes},
		{"POST", "/me/codes/remove", OwnFresh, smallForm, s.removeCodes},
		{"POST", "/me/everywhere", Own, smallForm, s.everywhere},
		{"POST", "/me/session", Own, smallForm, s.endMine},
		{"POST", "/me/phone", Own, smallForm, s.saveMyPhone},

		// Rounds: who needs what. A person without a clinical role is shown another start.
		{"GET", "/{$}", Anyone, none, s.home},
		{"GET", "/others", Reads, none, s.showOthers},

		// The Week: who goes where, when.
		{"GET", "/week", Writes, none, s.showWeek},
		{"POST", "/week/keep", Writes, smallForm, s.saveWeekPlan},
		{"POST", "/week/off", Writes, smallForm, s.saveWeek},
		{"POST", "/week/extra", Writes, smallForm, s.saveWeek},
		{"POST", "/week/closed", Writes, smallForm, s.saveWeek},
		{"POST", "/week/fix", Writes, smallForm, s.saveWeek},
		{"GET", "/week/day", Writes, none, s.showWeekDay},
		{"GET", "/week/day/file", Writes, none, s.sendWeekDay},
		{"GET", "/week/weigh", Writes, none, s.showWeigh},
		{"GET", "/week/set", Writes, none, s.showWeekSet},
		{"POST", "/week/nurse", Writes, smallForm, s.saveWeek},
		{"POST", "/week/place", Writes, smallForm, s.saveWeek},
		{"POST", "/week/roads", Writes, wholeForm, s.saveWeek},
		{"POST", "/week/wish", Writes, smallForm, s.saveWeek},
		{"POST", "/week/settings", Writes, smallForm, s.saveWeek},
		{"GET", "/week/calendar", Writes, none, s.showCalendar},
		{"POST", "/week/calendar", Writes, smallForm, s.saveCalendar},
		// A calendar program comes with a secret address; its handler judges it.
		{"GET", "/calendar/{token}", Nothing, none, s.sendCalendar},

		// FHIR for other systems: read only, each request with a token that its handler judges.
		{"GET", "/fhir/metadata", Nothing, none, s.showMetadata},
		{"GET", "/fhir/{type}", Nothing, none, s.searchFHIR},
		{"GET", "/fhir/{type}/{id}", Nothing, none, s.readFHIR},

		// Pumps: who has which.
		{"GET", "/pumps", Ledger, none, s.showPumps},
		{"GET", "/pumps/pdf", Ledger, none, s.sendPumps},

		// Bench: trying a program before it is set. The first belongs to no patient.
		{"GET", "/bench", Anyone, none, s.showBench},
		{"GET", "/case/{case}/bench", Reads, none, s.showCaseBench},

		// Call desk: a telephone call about a pump, with a case or without one.
		{"GET", "/call", Writes, none, s.showCallDesk},
		{"POST", "/call", Writes, smallForm, s.startDeskCall},
		{"GET", "/call/found", Writes, none, s.showCallsFound},
		{"GET", "/call/{call}", Writes, none, s.showDeskCall},
		{"POST", "/call/{call}", Writes, wholeForm, s.saveDeskCall},
		{"GET", "/case/{case}/call", Writes, none, s.showCaseCall},
		{"POST", "/case/{case}/call", Writes, smallForm, s.startCaseCall},
		{"GET", "/case/{case}/call/{call}", Writes, none, s.showCall},
		{"POST", "/case/{case}/call/{call}", Writes, wholeForm, s.saveCall},

		// Case: one patient's therapy.
		{"GET", "/case/new", Writes, none, s.newCase},
		{"POST", "/case/new", Writes, wholeForm, s.saveCase},
		{"GET", "/case/{case}", Reads, none, s.showCase},
		{"GET", "/case/{case}/log", Reads, none, s.showLog},
		{"GET", "/case/{case}/wound/{wound}", Reads, none, s.showWound},
		{"GET", "/case/{case}/decision", Reads, none, s.showDecision},
		{"GET", "/case/{case}/pump-log", Reads, none, s.showPumpLog},
		{"POST", "/case/{case}/pump-log/import", Writes, pumpLogFile, s.savePumpLog},
		{"POST", "/case/{case}/pump-log/look", Writes, pumpLogFile, s.lookPumpLog},
		{"GET", "/case/{case}/papers", Reads, none, s.showPapers},
		{"GET", "/case/{case}/paper/{kind}", Reads, none, s.showPaper},
		{"GET", "/case/{case}/paper/{kind}/pdf", Reads, none, s.sendPaper},
		{"GET", "/case/{case}/fhir", Reads, none, s.sendBundle},
		{"GET", "/case/{case}/bring", Writes, none, s.newBring},
		{"POST", "/case/{case}/bring", Writes, bringFile, s.saveBring},
		{"POST", "/case/{case}/bring/{kind}", Writes, wholeForm, s.openBrought},
		{"GET", "/case/{case}/why", Reasons, none, s.why},
		{"POST", "/case/{case}/why", Reasons, smallForm, s.saveWhy},
		{"GET", "/case/{case}/erase", Erases, none, s.newErase},
		{"POST", "/case/{case}/erase", Erases, smallForm, s.saveErase},

		// Entries: the visit, a form for every other kind, corrections, sign-off.
		{"GET", "/case/{case}/visit", Writes, none, s.newVisit},
		{"POST", "/case/{case}/visit", Writes, wholeForm, s.saveVisit},
		{"POST", "/case/{case}/visit/{entry}/used", Writes, smallForm, s.saveUsed},
		{"GET", "/case/{case}/add", Orders, none, s.showMenu},
		{"GET", "/case/{case}/add/{kind}", Orders, none, s.newEntry},
		{"POST", "/case/{case}/add/{kind}", Orders, wholeForm, s.saveEntry},
		{"GET", "/case/{case}/correct/{entry}", Writes, none, s.newCorrection},
		{"POST", "/case/{case}/correct/{entry}", Writes, wholeForm, s.saveCorrection},
		{"GET", "/case/{case}/take/{entry}", Orders, none, s.takeOver},
		{"POST", "/case/{case}/take/{entry}", Orders, smallForm, s.saveTakeOver},
		{"GET", "/case/{case}/asked", Reads, none, s.showAsked},
		{"POST", "/case/{case}/asked", Writes, smallForm, s.saveAsked},
		{"GET", "/case/{case}/sign", Orders, none, s.newSignOff},
		{"POST", "/case/{case}/sign", Orders, wholeForm, s.saveSignOff},

		// Photos and outlines.
		{"GET", "/case/{case}/wound/{wound}/edge", Reads, none, s.showEdge},
		{"GET", "/case/{case}/photo", Writes, none, s.newPhoto},
		{"POST", "/case/{case}/photo", Writes, photoFile, s.savePhoto},
		{"GET", "/case/{case}/photo/{entry}", Reads, none, s.showPhoto},
		{"GET", "/case/{case}/outline/{entry}", Reads, none, s.showOutline},
		{"POST", "/case/{case}/outline/{entry}/confirm", Writes, wholeForm, s.saveOutline},
		{"POST", "/case/{case}/outline/{entry}/edge", Writes, script, s.pullEdge},
		{"POST", "/case/{case}/outline/{entry}/measure", Writes, wholeForm, s.measureOutline},
		{"GET", "/strips/{paper}", Anyone, none, s.showStrips},

		// Stores: the agency's stock, without patients; who got a lot; what to bring to the day's visits.
		{"GET", "/stores", Stocks, none, s.showStores},
		{"POST", "/stores/moved", Stocks, smallForm, s.saveStores},
		{"POST", "/stores/counted", Stocks, smallForm, s.saveStores},
		{"POST", "/stores/recalled", Stocks, smallForm, s.saveStores},
		{"POST", "/stores/planned", Stocks, smallForm, s.saveStores},
		{"GET", "/stores/lot", Reads, none, s.showLot},
		{"GET", "/bag", Writes, none, s.showBag},
		{"GET", "/bag/pdf", Writes, none, s.sendBag},
		{"POST", "/bag", Writes, smallForm, s.saveBag},

		// A phone that was without a network meets the server. The first is asked also by one that nobody can unlock.
		{"POST", "/meet/word", Nothing, smallScript, s.meetWord},
		{"POST", "/meet/phone", OwnFresh, smallScript, s.meetPhone},
		{"POST", "/meet/list", Reads, script, s.meetList},
		{"POST", "/meet/case", Reads, script, s.meetPart},
		{"POST", "/meet/small", Reads, smallScript, s.meetSmall},
		{"POST", "/meet/ground", Reads, smallScript, s.meetGround},
		{"POST", "/meet/push", Own, meetPushed, s.meetPush},

		// Accounts, the access log, and the way to erasing a case, which shows nothing of it.
		{"GET", "/erase", Admin, none, s.chooseErase},
		{"GET", "/accounts", Admin, none, s.showAccounts},
		{"GET", "/tokens", AdminFresh, none, s.showTokens},
		{"POST", "/tokens", AdminFresh, smallForm, s.saveToken},
		{"POST", "/tokens/end", AdminFresh, smallForm, s.endToken},
		{"GET", "/accounts/new", AdminFresh, none, s.newAccount},
		{"POST", "/accounts/new", AdminFresh, smallForm, s.saveAccount},
		{"GET", "/account/{name}", Admin, none, s.showAccount},
		{"POST", "/account/{name}/roles", AdminFresh, smallForm, s.saveRoles},
		{"POST", "/account/{name}/disable", AdminFresh, smallForm, s.saveDisabled},
		{"POST", "/account/{name}/link", AdminFresh, smallForm, s.saveLink},
		{"POST", "/account/{name}/second", AdminFresh, smallForm, s.removeSecond},
		{"POST", "/account/{name}/session", AdminFresh, smallForm, s.endTheirs},
		{"POST", "/account/{name}/phone", AdminFresh, smallForm, s.savePhone},
		{"POST", "/accounts/passkeys", AdminFresh, smallForm, s.askPasskeys},
		{"POST", "/accounts/phones", AdminFresh, smallForm, s.savePhoneRules},
		{"GET", "/access", Admin, none, s.showAccess},
		{"GET", "/access/export", Admin, none, s.exportAccess},

		// Rulebook: every rule with its source.
		{"GET", "/rules", Anyone, none, s.showRules},
		{"GET", "/sources", Anyone, none, s.showSources},
		{"GET", "/rules/{rule}", Anyone, none, s.showRule},
		{"GET", "/seal", Seals, none, s.showDaySeal},
		{"GET", "/about", Anyone, none, s.showAbout},
		{"GET", "/hazards", Anyone, none, s.showHazards},
	}
}
