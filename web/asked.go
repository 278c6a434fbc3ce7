package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// showAsked shows what the entries of a case tell in two ways.
func (s *Server) showAsked(r *Request) (Answer, error) {
	return s.drawAsked(r, http.StatusOK, "", page.Typed{})
}

func (s *Server) drawAsked(r *Request, status int, answered string, typed page.Typed) (Answer, error) {
	o := r.opened
	key, err := s.newFormKey(o.now)
	if err != nil {
		return nil, err
	}
	return show(status, page.Asked(page.NewAsked(s.caseFrame(r, o, "Asked about "+o.rev.Person.Name), o.c, o.rev, o.clock, key, answered, typed)))
}

// saveAsked writes which of the entries is right.
func (s *Server) saveAsked(r *Request) (Answer, error) {
	o, form, ps := r.opened, r.form, r.broken
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		ps = append(ps, keyProblem)
	}
	name := form.Get("about") + " " + form.Get("entries")
	var q *state.Question
	for i := range o.rev.Asked {
		if page.AskedKey(o.rev.Asked[i]) == name {
			q = &o.rev.Asked[i]
		}
	}
	if q == nil || q.About == state.AskedContent {
		if o.c.Line(id) != nil { // this form was saved before
			return afterWrite(o.c.ID, id, before, nil, nil)
		}
		return nil, refuse(http.StatusConflict, "This is not asked any more.", "Somebody settled it meanwhile. Open the case and look at what it says now.")
	}
	body := casebook.ContradictionSettled{About: q.About, Entries: slices.Clone(q.Entries), Right: form.Get("right"), How: strings.TrimSpace(form.Get("how"))}
	unsaid := func([]casebook.Entry) intake.Problems {
		if body.Right == "" || body.Right == casebook.Both || slices.Contains(q.Entries, body.Right) {
			return nil
		}
		return intake.Problems{{Pointer: "right", Code: intake.CodeMissing, Message: "What was chosen is none of these entries.", Remedy: "Choose one of the entries, or both."}}
	}
	drafts, err := s.rightAgain(r, q, &body)
	if err != nil {
		return nil, err
	}
	drafts = append(drafts, draft{entry: s.entry(r, id, o.c.ID, o.now, body), form: form})
	ps, to, err := s.write(r.Context(), o.c.ID, drafts, ps, unsaid)
	return afterWrite(o.c.ID, id, to, err, func() (Answer, error) {
		return s.drawAsked(r, http.StatusUnprocessableEntity, name, page.Typed{Values: form, Problems: ps})
	})
}

// rightAgain writes the right correction, or the right person, once more where a newer entry took its place.
func (s *Server) rightAgain(r *Request, q *state.Question, body *casebook.ContradictionSettled) ([]draft, error) {
	o := r.opened
	l := o.c.Line(body.Right)
	if l == nil || body.Right == q.Entries[len(q.Entries)-1] || q.About != state.AskedCorrection && q.About != state.AskedPerson {
		return nil, nil
	}
	id, ok := entryID(r.form.Get("-key"), 1)
	if !ok {
		return nil, nil
	}
	again := s.entry(r, id, o.c.ID, o.now, l.Entry.Body)
	if q.About == state.AskedCorrection {
		again.Corrects, again.Reason = q.Entries[0], "this correction is the right one"
	}
	body.Entries = append(body.Entries, id)
	if _, err := json.Marshal(again.Body); err != nil {
		return nil, err
	}
	return []draft{{entry: again, form: r.form}}, nil
}
