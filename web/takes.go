package web

import (
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"

	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// Takes says what a route takes in its body. The zero value takes nothing.
type Takes struct {
	// Limit is the greatest body in bytes, and What and Next are the words for one that is larger.
	Limit      int64
	What, Next string
	// as says how the body is opened before the handler sees the request; Else is what to do when it is no such form.
	as   bodyKind
	Else string
	// parts is how many parts of a form with a file are read, and field how many bytes of each.
	parts int
	field int64
}

// bodyKind is how a body is opened.
type bodyKind int

const (
	asRead bodyKind = iota // the handler reads it
	asForm
	asFile
)

// The sizes of what is posted. A note of 10,000 characters in four-byte letters, percent-encoded, and the rest of a form
// stay far under formLimit. A form with a photo may be larger than a photo, so that one that is too large is answered at
// its field and nothing that was typed is lost.
const (
	smallLimit   = 16 << 10
	formLimit    = 256 << 10
	passkeyLimit = 64 << 10
	bringLimit   = 21 << 20
	pumpLogLimit = 200<<20 + 1<<20
	photoLimit   = 2 * state.MostPhotoBytes
	fieldLimit   = 4 << 10
	// A file in an envelope is written twice in base64, which takes four bytes for three each time.
	meetLimit  = 2 * photoLimit
	mostFields = 400
)

// What routes can take.
var (
	none      = Takes{}
	smallForm = Takes{Limit: smallLimit, What: tooMuch, Next: shorten, as: asForm, Else: fillIn}
	wholeForm = Takes{Limit: formLimit, What: tooMuch, Next: shorten, as: asForm, Else: fillIn}
	// script is what a page's own script sends.
	script      = Takes{Limit: formLimit, What: tooMuch, Next: shorten}
	smallScript = Takes{Limit: smallLimit, What: tooMuch, Next: shorten}
	keyScript   = Takes{Limit: passkeyLimit, What: tooMuch, Next: shorten}
	// meetPushed is what a phone sends.
	meetPushed  = Takes{Limit: meetLimit, What: tooMuch, Next: "It stays on the phone. Choose a smaller photo or log at the server."}
	photoFile   = Takes{Limit: photoLimit, What: page.PhotoTooLarge.Message, Next: "Nothing was saved. " + page.PhotoTooLarge.Remedy, as: asFile, Else: fillIn, parts: 40, field: smallLimit}
	bringFile   = Takes{Limit: bringLimit, What: fmt.Sprintf("The file is larger than %d MB.", bringLimit>>20), Next: "Nothing was read. Export fewer resources from the other system, and choose that file.", as: asFile, Else: "Open the case and choose the file there.", parts: mostFields, field: fieldLimit}
	pumpLogFile = Takes{Limit: pumpLogLimit, What: "The log is larger than 200 MB.", Next: "Nothing was imported. Import it in parts, such as a file a month; the command lowtide log reads a file of any size.", as: asFile, Else: "Open the case's pump log and choose the file there.", parts: mostFields, field: fieldLimit}
)

const (
	tooMuch = "That is more than this page takes."
	shorten = "Nothing was saved. Go back, shorten the longest text and send the form again."
	fillIn  = "Open the case and fill in the form there."
)

// tooLarge tells whether reading ended because the body is larger than the route takes.
func tooLarge(err error) bool {
	var big *http.MaxBytesError
	return errors.As(err, &big)
}

// take reads what the route takes into the request. A form that is broken in parts is kept as far as it could be read,
// with a problem, so that the page can show it again.
func (s *Server) take(w http.ResponseWriter, r *Request, t Takes) error {
	noForm := refuse(http.StatusUnsupportedMediaType, "That is not a form of Lowtide.", t.Else)
	switch t.as {
	case asForm:
		if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/x-www-form-urlencoded" {
			return noForm
		}
		if err := r.ParseForm(); tooLarge(err) {
			return err
		} else if err != nil {
			r.broken = intake.Problems{{Code: intake.CodeSyntax, Message: "A part of the form could not be read.", Remedy: "Look through the fields: what is missing now did not arrive. Fill it in and send the form again."}}
		}
		r.form = r.PostForm
	case asFile:
		s.allowLong(w)
		parts, err := r.MultipartReader()
		if err != nil {
			return noForm
		}
		r.upload = &upload{fields: url.Values{}, parts: parts, left: t.parts, fieldBytes: t.field}
	}
	return nil
}
