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

// newBring shows the form for a file of another system.
func (s *Server) newBring(r *Request) (Answer, error) {
	return s.drawBring(r, http.StatusOK, nil, "")
}

// drawBring shows the form, what was read of a file, and what is wrong with it. Nothing of the file is kept.
func (s *Server) drawBring(r *Request, status int, got *page.Brought, wrong string) (Answer, error) {
	o := r.opened
	if s.Foreign == nil {
		return nil, errMissing
	}
	return show(status, page.Bring(page.NewBring(s.caseFrame(r, o, "From another system"), o.c.ID, got, wrong, o.clock, func(k casebook.Kind) bool {
		row := casebook.Find(k)
		return row != nil && !row.Menu.Only && k != casebook.KindEntryCorrected && mayWrite(r.who, k)
	})))
}

// saveBring reads a file and shows what it suggests.
func (s *Server) saveBring(r *Request) (Answer, error) {
	if s.Foreign == nil {
		return nil, errMissing
	}
	var raw []byte
	part, err := r.upload.file(page.BringField)
	if part != nil {
		raw, err = io.ReadAll(part)
	}
	if tooLarge(err) {
		return nil, err
	}
	if err != nil {
		return s.drawBring(r, http.StatusUnprocessableEntity, nil, "The file did not arrive whole. Choose it again.")
	}
	if len(raw) == 0 {
		return s.drawBring(r, http.StatusUnprocessableEntity, nil, "No file was chosen. Choose a FHIR R4 file in JSON.")
	}
	got, err := s.Foreign(raw)
	if err != nil {
		return s.drawBring(r, http.StatusUnprocessableEntity, nil, "The file cannot be read: "+err.Error()+".")
	}
	return s.drawBring(r, http.StatusOK, &got, "")
}

// openBrought shows the form of a kind filled in with what was read. Saving it is the nurse's step.
func (s *Server) openBrought(r *Request) (Answer, error) {
	kind, err := entryKind(r)
	if err != nil {
		return nil, err
	}
	o := r.opened
	sent := r.form
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
		return nil, err
	}
	p := page.NewEntryForm(s.caseFrame(r, o, wording.Kind(kind)), kind, in)
	p.Lead = append(p.Lead, "Filled in from another system. Check every value: nothing is kept before you save, and you answer for what you save.")
	return show(http.StatusOK, page.Form(p))
}
