// Package page holds one typed struct and one template for each page. Templates (*.templ) are compiled to Go
// by `make gen`; nothing here decides anything about a patient.
package page

import "slices"

// Frame is what every page carries around its content.
type Frame struct {
	Title string
	// Here is the name of the main place that the page belongs to: "Rounds", "Call desk", "Bench", "Rulebook" or "".
	Here string
	// Case is the case's ID and Person its patient, on pages of one case.
	Case   string
	Person string
	// Demo marks invented patients; Protocol names the local protocol; Author is who writes.
	Demo     bool
	Protocol string
	Author   string
	// Account is who is signed in, where there are accounts.
	Account *FrameAccount
	// Aboard is what the device knows of itself that made the page; nil where the server did.
	Aboard *Aboard
	// Outside marks pages that are shown before the door is open: they have no menu.
	Outside bool
	// Warnings are what everybody who works here has to know of the store, on every page.
	Warnings []string
	// Look is light, dark or as the device wishes; Path is where a change of it leads back to.
	Look Look
	Path string
	// Draft seals half-filled forms on the device; without a key none is kept.
	Draft Draft
	// First is the ID of the first field, on pages with a form.
	First string
	// Said is a short message about what was just done.
	Said string
}

// Draft is the key that seals a half-filled form on the device, in base64, and the name under which it is kept there.
type Draft struct{ Key, Name string }

// FrameAccount is what the menu needs to know of who is signed in.
type FrameAccount struct {
	Shown string
	// Clinical may see cases, Nurse may write everything, Admin may see accounts and the access log.
	Clinical, Nurse, Stores, Admin bool
}

// Menu lists the main places that the person may go to.
func (f Frame) Menu() []Link {
	rounds, rules, about := Link{Href: "/", Words: "Rounds"}, Link{Href: "/rules", Words: "Rulebook"}, Link{Href: "/about", Words: "About"}
	bag, stores := Link{Href: "/bag", Words: "Bag"}, Link{Href: "/stores", Words: "Stores"}
	bench, calls := Link{Href: "/bench", Words: "Bench"}, Link{Href: "/call", Words: "Call desk"}
	pumps := Link{Href: "/pumps", Words: "Pumps"}
	if f.Account == nil {
		return []Link{rounds, {Href: "/week", Words: "Week"}, calls, bag, stores, bench, pumps, rules, about}
	}
	var out []Link
	if f.Account.Clinical {
		out = append(out, rounds, Link{Href: "/others", Words: "Other patients"})
	}
	if f.Account.Nurse {
		out = append(out, Link{Href: "/week", Words: "Week"}, calls, bag, Link{Href: "/phone", Words: "This phone"})
	}
	if f.Account.Nurse || f.Account.Stores {
		out = append(out, stores)
	}
	out = append(out, bench)
	if f.Account.Clinical || f.Account.Stores {
		out = append(out, pumps)
	}
	out = append(out, rules)
	if f.Account.Admin {
		out = append(out, Link{Href: "/accounts", Words: "Accounts"}, Link{Href: "/access", Words: "Access log"})
	}
	return append(out, about)
}

// nearLinks is how many links of the menu stand in the first line of a phone; the others are one tap away.
const nearLinks = 3

// nearWords are those links, where the person has them.
var nearWords = []string{"Rounds", "Week", "Call desk"}

// menus parts the menu into the links that are always in sight and the others.
func (f Frame) menus() (near, far []Link) {
	for _, l := range f.Menu() {
		if slices.Contains(nearWords, l.Words) {
			near = append(near, l)
		} else {
			far = append(far, l)
		}
	}
	for len(near) < nearLinks && len(far) > 0 {
		near, far = append(near, far[0]), far[1:]
	}
	return near, far
}

// Look says whether pages are light or dark.
type Look string

// The looks; a device says by itself whether it is night.
const (
	LookDevice Look = "device"
	LookLight  Look = "light"
	LookDark   Look = "dark"
)

// looks are the words of the switch.
var looks = []struct {
	Look  Look
	Words string
}{{LookLight, "Light"}, {LookDark, "Dark"}, {LookDevice, "As the device"}}

// LookOf reads a look; what it does not know is left to the device.
func LookOf(s string) Look {
	if l := Look(s); l == LookLight || l == LookDark {
		return l
	}
	return LookDevice
}

// Night is the media query under which the style of the night counts.
func (l Look) Night() string {
	switch l {
	case LookLight:
		return "not all"
	case LookDark:
		return "screen"
	}
	return "screen and (prefers-color-scheme: dark)"
}

// Scheme is what the browser's own controls and its page before the first paint go by.
func (l Look) Scheme() string {
	switch l {
	case LookLight:
		return "light"
	case LookDark:
		return "dark"
	}
	return "light dark"
}

// RefusedPage says why a request was not answered.
type RefusedPage struct {
	Frame
	What string
	Next string
	// Again is what was sent and not saved; nil when nothing of it may be shown.
	Again *SendAgain
}

// SendAgain is a form that was sent and not saved, to be sent again as it was.
type SendAgain struct {
	Action string
	// Fields are all that were sent, each value with its name; Typed are the values that a person typed.
	Fields []SentField
	Typed  []string
	// File is the name of the field of a file, which only the person can choose again.
	File string
}

// SentField is a field of a form as it was sent.
type SentField struct{ Name, Value string }
