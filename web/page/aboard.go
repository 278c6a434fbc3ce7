package page

import (
	"fmt"
	"time"
)

// Aboard is what a page says of the device that made it.
type Aboard struct {
	// Since says when the device last heard from the server, such as "08:12"; empty when it never did. Old tells that this
	// is so long ago that every page says it aloud.
	Since string
	Old   bool
	// Unsent counts the entries that wait to be sent, Refused those that the server could not take.
	Unsent, Refused int
	// SignIn tells that nobody is signed in at the server.
	SignIn bool
}

// Href is where the line leads: to the phone's page, or to signing in where that is all that is missing.
func (a Aboard) Href() string {
	if a.SignIn {
		return "/sign-in"
	}
	return "/phone"
}

// SinceWords is a time as a nurse says it on the day of now: with its day when that is another one.
func SinceWords(at, now time.Time) string {
	if at.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return at.Format("15:04")
	}
	return at.Format("Monday 2 January, 15:04")
}

// Words is the quiet line in the header.
func (a Aboard) Words() string {
	words := "On this phone"
	if a.Since != "" {
		words += " since " + a.Since
	}
	switch a.Unsent {
	case 0:
	case 1:
		words += ", 1 entry to send"
	default:
		words += fmt.Sprintf(", %d entries to send", a.Unsent)
	}
	if a.Refused > 0 {
		words += fmt.Sprintf(", %d that the server did not take", a.Refused)
	}
	if a.SignIn {
		words += ". Sign in to send and fetch"
	}
	return words
}

// Warning is what every page says aloud when the device has heard nothing for long; empty when it has.
func (a Aboard) Warning() string {
	switch {
	case a.Since == "":
		return "This phone has never heard from the server. What others wrote is not here."
	case a.Old:
		return "Nothing has come from the server since " + a.Since + ". What others wrote or did since then is not in what you read here: ask before you rely on it."
	}
	return ""
}
