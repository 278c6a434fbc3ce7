package web

import "lowtide/account"

// Needs says who may use a route. The zero value lets nobody in, so that a route without a rule is shut.
type Needs struct {
	// Rule names the rule in words, for the table and its test.
	Rule string
	// Roles are those of which an account needs one; open and set-up routes name none.
	Roles []account.Role
	// Open routes need nothing; SetUp routes are there only while there is no account.
	Open, SetUp bool
	// Strong asks for more than a password, Fresh for a proof of identity in the last five minutes.
	Strong, Fresh bool
	// Held asks an account that has a second factor for a session that was proved by it: so that whoever has the password
	// alone can change nothing about how the account is proved.
	Held bool
	// Own routes are those by which a person comes, goes and keeps her own account. They stay open to somebody who is
	// asked for a passkey and has none yet.
	Own bool
	// Kept routes stand under /case/{case} and keep their own rule about the person's list; all others there ask for
	// a reason when the case is not on it.
	Kept bool
}

// What routes can need.
var (
	// Nothing: files without any patient in them, and the door itself.
	Nothing = Needs{Rule: "nothing", Open: true}
	// SetUp: the first account.
	SetUp = Needs{Rule: "set-up", SetUp: true}
	// Anyone: every account that is signed in.
	Anyone = Needs{Rule: "anyone", Roles: account.Roles}
	// Own: every account that is signed in, about itself.
	Own = Needs{Rule: "own", Roles: account.Roles, Own: true}
	// OwnFresh: the same, and she proved a moment ago who she is, with her second factor if she has one.
	OwnFresh = Needs{Rule: "own, fresh", Roles: account.Roles, Own: true, Fresh: true, Held: true}
	// Reads: who may see clinical content.
	Reads = Needs{Rule: "reads", Roles: account.Clinical}
	// Reasons: the page that asks why.
	Reasons = Needs{Rule: "reads, reason", Roles: account.Clinical, Kept: true}
	// Ledger: the list of pumps; names of patients are shown only to those whose list they are on.
	Ledger = Needs{Rule: "ledger", Roles: append([]account.Role{account.Stores}, account.Clinical...)}
	// Orders: who may write orders and decisions, and sign. A prescriber is kept to these by the handlers.
	Orders = Needs{Rule: "orders", Roles: []account.Role{account.Nurse, account.Prescriber}}
	// Writes: who may write everything.
	Writes = Needs{Rule: "writes", Roles: []account.Role{account.Nurse}}
	// Seals: the seal of the day, which holds no patient.
	Seals = Needs{Rule: "seals", Roles: []account.Role{account.Nurse, account.Admin}}
	// Stocks: the agency's stock, which holds no patient.
	Stocks = Needs{Rule: "stocks", Roles: []account.Role{account.Nurse, account.Stores}}
	// Admin: accounts and the access log.
	Admin = Needs{Rule: "admin", Roles: []account.Role{account.Admin}, Strong: true}
	// AdminFresh: what changes an account.
	AdminFresh = Needs{Rule: "admin, fresh", Roles: []account.Role{account.Admin}, Strong: true, Fresh: true}
	// Erases: erasing a case, which shows nothing of it.
	Erases = Needs{Rule: "erases", Roles: []account.Role{account.Admin}, Strong: true, Fresh: true, Kept: true}
)
