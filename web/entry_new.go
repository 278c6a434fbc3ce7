package web

import (
	"net/http"
	"net/url"
	"strings"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
	"lowtide/wording"
)

// entryKind reads the kind in the address; ok is false when there is no form for it, and the answer was given.
func (s *Server) entryKind(w http.ResponseWriter, r *http.Request) (kind casebook.Kind, ok bool) {
	kind = casebook.Kind(r.PathValue("kind"))
	k := casebook.Find(kind)
	switch {
	case k == nil || kind == casebook.KindEntryCorrected:
		s.missing(w, r)
		return kind, false
	case k.Menu.Only:
		http.Redirect(w, r, page.KindPath(r.PathValue("case"), kind), http.StatusSeeOther)
		return kind, false
	}
	if !mayWrite(who(r), kind) {
		s.refuse(w, r, http.StatusForbidden, "Your account may not write this.", "Prescribers write and stop orders, write decisions, and sign reviews. Ask a nurse to write the rest.")
		return kind, false
	}
	return kind, true
}

// mayWrite tells whether the person may write entries of the kind: a nurse every kind, a prescriber those
// whose row in the table of kinds says so.
func mayWrite(v *visitor, kind casebook.Kind) bool {
	if v == nil {
		return false
	}
	if k := casebook.Find(kind); k != nil && k.Prescriber {
		return v.account.Is(account.Nurse, account.Prescriber)
	}
	return v.account.Is(account.Nurse)
}

// newEntry shows the form of a kind.
func (s *Server) newEntry(w http.ResponseWriter, r *http.Request) {
	kind, ok := s.entryKind(w, r)
	if !ok {
		return
	}
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	from, draft := asked(r), draftStages(r, kind)
	for name, values := range draft {
		from[name] = values
	}
	form := page.Start(kind, o.c, o.clock, from)
	in, err := s.formInput(o, form, nil)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := page.NewEntryForm(s.caseFrame(r, o, wording.Kind(kind)), kind, in)
	if len(draft) > 0 {
		p.Lead = append(p.Lead, draftWords)
	}
	s.render(w, r, http.StatusOK, page.Form(p))
}

// asked takes from the address what a link may fill in: only which wound and filler is meant.
func asked(r *http.Request) url.Values {
	out := url.Values{}
	for _, name := range []string{"wound", "filler"} {
		if v := strings.TrimSpace(r.URL.Query().Get(name)); v != "" && len(v) <= 40 {
			out.Set(name, v)
		}
	}
	return out
}

// showMenu lists what can be written.
func (s *Server) showMenu(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	s.render(w, r, http.StatusOK, page.Menu(page.NewMenu(s.caseFrame(r, o, "Write into the log"), o.c, func(k casebook.Kind) bool { return mayWrite(who(r), k) })))
}
