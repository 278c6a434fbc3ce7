package account

import "slices"

// Role says what an account may do. The strings are part of the file format.
type Role string

// The roles. One account may have several; admin alone gives no clinical content.
const (
	Nurse      Role = "nurse"      // reads and writes cases
	Prescriber Role = "prescriber" // reads cases, writes and stops orders, signs reviews
	Stores     Role = "stores"     // pumps and supplies, without any clinical content
	Reader     Role = "reader"     // reads cases
	Admin      Role = "admin"      // accounts, access log, erasing; no clinical content
)

// Roles lists every role in the order in which pages show them.
var Roles = []Role{Nurse, Prescriber, Stores, Reader, Admin}

// Clinical are the roles that may see clinical content.
var Clinical = []Role{Nurse, Prescriber, Reader}

// Words says what the role is for.
func (r Role) Words() string {
	switch r {
	case Nurse:
		return "reads and writes cases"
	case Prescriber:
		return "reads cases, writes and stops orders, signs reviews"
	case Stores:
		return "pumps and supplies; sees nothing about patients"
	case Reader:
		return "reads cases"
	case Admin:
		return "accounts, access log, erasing; sees nothing about patients unless also a nurse"
	}
	return ""
}

// Known tells whether r is one of [Roles].
func (r Role) Known() bool { return slices.Contains(Roles, r) }
