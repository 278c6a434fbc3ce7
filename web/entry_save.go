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
func (s *Server) saveEntry(r *Request) (Answer, error) {
	kind, err := entryKind(r)
	if err != nil {
		return nil, err
	}
	o := r.opened
	form, ps := r.form, r.broken
	in, err := s.formInput(o, form, nil)
	if err != nil {
		return nil, err
	}
	draw := func(status int) (Answer, error) {
		return show(status, page.Form(page.NewEntryForm(s.caseFrame(r, o, wording.Kind(kind)), kind, in)))
	}
	if in.More != "" {
		return draw(http.StatusOK)
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
	return afterWrite(o.c.ID, id, to, err, func() (Answer, error) {
		in.Problems = ps
		return draw(http.StatusUnprocessableEntity)
	})
}

// afterWrite answers a request that wanted to write: with the case when it is written, with the form when it is not.
func afterWrite(caseID, id string, to written, err error, again func() (Answer, error)) (Answer, error) {
	switch {
	case err != nil:
		return nil, err
	case to == other:
		return nil, refuse(http.StatusConflict, "This form was saved before, with other content.", "What was saved the first time counts. Open the case's log: correct the entry there if it is wrong, or open a new form to add another.")
	case to == refused:
		return again()
	}
	return goTo(page.CasePath(caseID) + "?saved=" + id)
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
