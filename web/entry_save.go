package web

import (
	"net/http"
	"strings"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
	"lowtide/wording"
)

// saveEntry writes an entry from the form of its kind.
func (s *Server) saveEntry(w http.ResponseWriter, r *http.Request) {
	kind, ok := s.entryKind(w, r)
	if !ok {
		return
	}
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	form, ps, ok := s.readForm(w, r)
	if !ok {
		return
	}
	in, err := s.formInput(o, form, nil)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	show := func(status int) {
		s.render(w, r, status, page.Form(page.NewEntryForm(s.caseFrame(r, o, wording.Kind(kind)), kind, in)))
	}
	if in.More != "" {
		show(http.StatusOK)
		return
	}
	body, found := intake.ReadForm(kind, form, o.c.Zone)
	at, atPs := readAt(form, "at", "When it happened", o.c.Zone)
	ps = intake.Join(ps, found, atPs, settledPs(body, ""), drugPs(body))
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		ps = append(ps, keyProblem)
	}
	var to written
	ps, to, err = s.write(r.Context(), o.c.ID, []draft{{entry: s.entry(r, id, o.c.ID, at, body), form: form}}, ps, nil)
	s.answer(w, r, o, id, to, err, func() {
		in.Problems = ps
		show(http.StatusUnprocessableEntity)
	})
}

// answer ends a request that wanted to write: to the case when it is written, back to the form when it is not.
func (s *Server) answer(w http.ResponseWriter, r *http.Request, o opened, id string, to written, err error, again func()) {
	switch {
	case err != nil:
		s.fail(w, r, err)
	case to == other:
		s.refuse(w, r, http.StatusConflict, "This form was saved before, with other content.", "What was saved the first time counts. Open the case's log: correct the entry there if it is wrong, or open a new form to add another.")
	case to == refused:
		again()
	default:
		http.Redirect(w, r, page.CasePath(o.c.ID)+"?saved="+id, http.StatusSeeOther)
	}
}

// settledPs asks what was done about a sign that is called dealt with.
func settledPs(body casebook.Body, prefix string) intake.Problems {
	var seen casebook.Seen
	switch b := body.(type) {
	case casebook.NoteWritten:
		seen = b.Seen
	case casebook.DressingChanged:
		seen = b.Seen
	}
	if len(seen.Settles) > 0 && strings.TrimSpace(seen.Done) == "" {
		return intake.Problems{{Pointer: prefix + "done", Code: intake.CodeMissing, Message: "A sign is called dealt with, and it is not said what was done.", Remedy: "Write what was done and who was told, or untick the sign."}}
	}
	return nil
}

// drugPs asks, before a note is kept that names a drug against clotting, whether the drug is new: a new one has to be
// screened for, and nobody reads a note for it.
func drugPs(body casebook.Body) intake.Problems {
	b, ok := body.(casebook.NoteWritten)
	if !ok || b.ClotDrug != "" {
		return nil
	}
	name := casebook.ClotDrugIn(b.Text)
	if name == "" {
		return nil
	}
	return intake.Problems{{Pointer: "clot_drug", Code: intake.CodeMissing, Value: name, Message: "The note names a drug against clotting (" + name + "). Is it new for this patient?",
		Remedy: "Answer “new” or “not new”. A new one is a bleeding risk: answer the screening anew and tell the prescriber today."}}
}
