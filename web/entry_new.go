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

// entryKind reads the kind in the address, which must have a form and be one that the person may write.
func entryKind(r *Request) (casebook.Kind, error) {
	kind := casebook.Kind(r.PathValue("kind"))
	k := casebook.Find(kind)
	switch {
	case k == nil || kind == casebook.KindEntryCorrected:
		return kind, errMissing
	case k.Menu.Only:
		return kind, first(goTo(page.KindPath(r.PathValue("case"), kind)))
	case !mayWrite(r.who, kind):
		return kind, refuse(http.StatusForbidden, "Your account may not write this.", "Prescribers write and stop orders, write decisions, and sign reviews. Ask a nurse to write the rest.")
	}
	return kind, nil
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
func (s *Server) newEntry(r *Request) (Answer, error) {
	kind, err := entryKind(r)
	if err != nil {
		return nil, err
	}
	o := r.opened
	from, draft := asked(r), draftStages(r, kind)
	for name, values := range draft {
		from[name] = values
	}
	form := page.Start(kind, o.c, o.clock, from)
	in, err := s.formInput(o, form, nil)
	if err != nil {
		return nil, err
	}
	p := page.NewEntryForm(s.caseFrame(r, o, wording.Kind(kind)), kind, in)
	if len(draft) > 0 {
		p.Lead = append(p.Lead, draftWords)
	}
	return show(http.StatusOK, page.Form(p))
}

// asked takes from the address what a link may fill in: only which wound and filler is meant.
func asked(r *Request) url.Values {
	out := url.Values{}
	for _, name := range []string{"wound", "filler"} {
		if v := strings.TrimSpace(r.URL.Query().Get(name)); v != "" && len(v) <= 40 {
			out.Set(name, v)
		}
	}
	return out
}

// showMenu lists what can be written.
func (s *Server) showMenu(r *Request) (Answer, error) {
	o := r.opened
	return show(http.StatusOK, page.Menu(page.NewMenu(s.caseFrame(r, o, "Write into the log"), o.c, func(k casebook.Kind) bool { return mayWrite(r.who, k) })))
}
