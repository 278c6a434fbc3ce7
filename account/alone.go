package account

import "lowtide/casebook"

// Alone is a set of one nurse, for pages that serve one person in one place: a browser's own service worker, and tests.
func Alone(name string) *Set {
	return Fold([]casebook.Entry{{ID: "alone", Body: Created{Name: name, Shown: name, Roles: []Role{Nurse}}}})
}
