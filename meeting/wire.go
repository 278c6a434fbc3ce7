package meeting

import (
	"time"

	"lowtide/casebook"
)

// Version is the version of what device and server say to each other. A server answers a device of an older version as long
// as it can, and one of a newer version with a sentence.
const Version = 1

// Hello opens every request of a device.
type Hello struct {
	Version int    `json:"version"`
	Device  string `json:"device"`
	// Now is what the device's clock says.
	Now time.Time `json:"now"`
	// Unsent is how many entries and files wait on the device.
	Unsent int `json:"unsent"`
}

// Word opens every answer of the server.
type Word struct {
	Version int `json:"version"`
	// Now is what the server's clock says.
	Now time.Time `json:"now"`
	// Lost says that the device must drop its key at once.
	Lost bool `json:"lost,omitempty"`
	// What says why nothing was done, in a sentence; empty when the step was done.
	What string `json:"what,omitempty"`
}

// Place is how far a device has read a stream of the server: Count links, the last of which has the hash Head there. A
// stream is a case, or the register of what was brought to it.
type Place struct {
	Count int    `json:"count"`
	Head  string `json:"head"`
}

// ListAsked asks what is on the list of the device's owner. Have are the cases that the device holds.
type ListAsked struct {
	Hello
	Have []string `json:"have"`
}

// Listed is a case on the list, and how far its streams go.
type Listed struct {
	Case    string `json:"case"`
	Entries Place  `json:"entries"`
	Brought Place  `json:"brought"`
}

// Gone is a case that the device holds and that is no longer for it.
type Gone struct {
	Case string `json:"case"`
	Why  string `json:"why"`
}

// List is the answer to [ListAsked].
type List struct {
	Word
	Cases []Listed `json:"cases"`
	Gone  []Gone   `json:"gone,omitempty"`
	// Ground changes whenever what the device needs beside the cases does.
	Ground string `json:"ground"`
}

// PartAsked asks for a part of a stream after a place.
type PartAsked struct {
	Hello
	Stream string `json:"stream"`
	After  Place  `json:"after"`
}

// Part is a part of a stream. Anew says that the place is not one of this stream any more: the part starts at its begin.
type Part struct {
	Word
	Anew    bool     `json:"anew,omitempty"`
	Records [][]byte `json:"records"`
	After   Place    `json:"after"`
	More    bool     `json:"more,omitempty"`
}

// Push sends envelopes.
type Push struct {
	Hello
	Envelopes []Sealed `json:"envelopes"`
}

// Sealed is an envelope under the name by which the device knows it.
type Sealed struct {
	Name  string `json:"name"`
	Bytes []byte `json:"bytes"`
}

// Pushed is the answer to [Push].
type Pushed struct {
	Word
	Outcomes []Outcome `json:"outcomes"`
}

// Outcome says what became of an envelope: it is kept, or why not and what to do.
type Outcome struct {
	Name string `json:"name"`
	Kept bool   `json:"kept"`
	What string `json:"what,omitempty"`
	Next string `json:"next,omitempty"`
	// Hold asks not to send it again before it is corrected: a time that is to come would pass as a true one later.
	Hold bool `json:"hold,omitempty"`
	// Case is the case that it is about, for the access log.
	Case string `json:"-"`
}

// SmallAsked asks for a photo of a case, made small.
type SmallAsked struct {
	Hello
	Case string `json:"case"`
	Name string `json:"name"`
}

// Small is a photo made small; without Bytes there is none for this device.
type Small struct {
	Word
	Bytes []byte `json:"bytes,omitempty"`
}

// WordAsked asks for the [Word] alone. It needs nobody to be signed in: a phone that nobody can unlock any more learns so
// that it was lost.
type WordAsked struct{ Hello }

// AddPhone registers a device of the person who is signed in. Key is the public half of the key that it signs with.
type AddPhone struct {
	Label string `json:"label"`
	Key   []byte `json:"key"`
}

// Added is the answer to [AddPhone].
type Added struct {
	Word
	Device string `json:"device"`
}

// GroundAsked asks for what a device needs beside the cases.
type GroundAsked struct{ Hello }

// Ground is what a device needs beside the cases.
type Ground struct {
	Word
	// Mark names this state of it: see [List].
	Mark string `json:"mark"`
	// Account, Shown and Teams are the owner.
	Account string   `json:"account"`
	Shown   string   `json:"shown"`
	Teams   []string `json:"teams,omitempty"`
	Roles   []string `json:"roles,omitempty"`
	// UnlockedH is for how many hours the device stays unlocked.
	UnlockedH int `json:"unlocked_h"`
	// To is the server's public key, an age recipient.
	To string `json:"to"`
	// Zone is the time zone of pages that belong to no patient.
	Zone string `json:"zone"`
	// Files are the agency's own: of the local protocol under local/, and equipment.toml.
	Files map[string][]byte `json:"files,omitempty"`
}

// MostOfStep bounds a step: bytes of entries in one answer or one request.
const MostOfStep = 256 << 10

// recordOf makes a record of an entry's canonical bytes, and the entry. The error is for bytes that are no entry, or that
// are not canonical: then two stores could keep two contents under one ID.
func recordOf(raw []byte) (casebook.Record, casebook.Entry, error) {
	var e casebook.Entry
	if err := e.UnmarshalJSON(raw); err != nil {
		return casebook.Record{}, e, err
	}
	again, err := e.MarshalJSON()
	if err != nil {
		return casebook.Record{}, e, err
	}
	if string(again) != string(raw) {
		return casebook.Record{}, e, errNotCanonical
	}
	return casebook.Record{ID: e.ID, Case: e.Case, Bytes: raw}, e, nil
}
