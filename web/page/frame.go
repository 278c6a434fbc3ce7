// Package page holds one typed struct and one template for each page. Templates (*.templ) are compiled to Go
// by `make gen`; nothing here decides anything about a patient.
package page

// Frame is what every page carries around its content.
type Frame struct {
	Title string
	// Here is the name of the main place that the page belongs to: "Rounds", "Rulebook" or "".
	Here string
	// Case is the case's ID and Person its patient, on pages of one case.
	Case   string
	Person string
	// Demo marks invented patients; Protocol names the local protocol; Author is who writes.
	Demo     bool
	Protocol string
	Author   string
	// Outside marks pages that are shown before the door is open: they have no menu.
	Outside bool
	// Said is a short message about what was just done.
	Said string
}

// RefusedPage says why a request was not answered.
type RefusedPage struct {
	Frame
	What string
	Next string
}
