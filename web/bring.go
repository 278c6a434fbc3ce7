package web

import (
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
	"lowtide/wording"
)

// bringLimit is the greatest file from another system.
const bringLimit = 21 << 20

// newBring shows the form for a file of another system.
func (s *Server) newBring(w http.ResponseWriter, r *http.Request) {
	s.drawBring(w, r, http.StatusOK, nil, "")
}

// drawBring shows the form, what was read of a file, and what is wrong with it. Nothing of the file is kept.
func (s *Server) drawBring(w http.ResponseWriter, r *http.Request, status int, got *page.Brought, wrong string) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	if s.Foreign == nil {
		s.missing(w, r)
		return
	}
	s.render(w, r, status, page.Bring(page.NewBring(s.caseFrame(r, o, "From another system"), o.c.ID, got, wrong, o.clock, func(k casebook.Kind) bool {
		row := casebook.Find(k)
		return row != nil && !row.Menu.Only && k != casebook.KindEntryCorrected && mayWrite(who(r), k)
	})))
}

// saveBring reads a file and shows what it suggests.
func (s *Server) saveBring(w http.ResponseWriter, r *http.Request) {
	if s.Foreign == nil {
		s.missing(w, r)
		return
	}
	u, ok := s.openUpload(w, r, "Open the case and choose the file there.", mostFields, fieldLimit)
	if !ok {
		return
	}
	var raw []byte
	part, err := u.file(page.BringField)
	if part != nil {
		raw, err = io.ReadAll(part)
	}
	if s.overLimit(w, r, err) {
		return
	}
	if err != nil {
		s.drawBring(w, r, http.StatusUnprocessableEntity, nil, "The file did not arrive whole. Choose it again.")
		return
	}
	if len(raw) == 0 {
		s.drawBring(w, r, http.StatusUnprocessableEntity, nil, "No file was chosen. Choose a FHIR R4 file in JSON.")
		return
	}
	got, err := s.Foreign(raw)
	if err != nil {
		s.drawBring(w, r, http.StatusUnprocessableEntity, nil, "The file cannot be read: "+err.Error()+".")
		return
	}
	s.drawBring(w, r, http.StatusOK, &got, "")
}

// openBrought shows the form of a kind filled in with what was read. Saving it is the nurse's step.
func (s *Server) openBrought(w http.ResponseWriter, r *http.Request) {
	kind, ok := s.entryKind(w, r)
	if !ok {
		return
	}
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	sent, _, ok := s.readForm(w, r)
	if !ok {
		return
	}
	form := url.Values{}
	body := casebook.NewBody(kind).(casebook.Body)
	var ps intake.Problems
	if err := json.Unmarshal([]byte(sent.Get("body")), body); err != nil {
		ps = append(ps, intake.Problem{Pointer: "", Code: intake.CodeFormat, Message: "Some of what was read does not fit this form.", Remedy: "Fill in the fields from the other system's own page."})
	} else {
		form = page.Flatten(body, o.c.Zone)
	}
	if at, err := time.Parse(time.RFC3339Nano, sent.Get("at")); err == nil {
		form.Set("at", page.LocalValue(at, o.c.Zone))
	}
	in, err := s.formInput(o, form, ps)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := page.NewEntryForm(s.caseFrame(r, o, wording.Kind(kind)), kind, in)
	p.Lead = append(p.Lead, "Filled in from another system. Check every value: nothing is kept before you save, and you answer for what you save.")
	s.render(w, r, http.StatusOK, page.Form(p))
}
