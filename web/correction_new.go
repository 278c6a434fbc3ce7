package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/web/page"
)

// newCorrection asks what is wrong with an entry, or shows the form of the correction that was chosen.
func (s *Server) newCorrection(w http.ResponseWriter, r *http.Request) {
	o, l, ok := s.openLine(w, r)
	if !ok {
		return
	}
	do := r.URL.Query().Get("do")
	if !slices.Contains(page.CorrectionWays(l), do) {
		s.render(w, r, http.StatusOK, page.Correction(page.NewCorrection(s.caseFrame(r, o, "Correct an entry"), o.c, l, o.clock)))
		return
	}
	form := url.Values{}
	if do == page.DoReplace {
		form = page.StartCorrection(l, o.clock).Values
	}
	s.showCorrection(w, r, http.StatusOK, o, l, do, page.Typed{Values: form})
}

// openLine reads the case and finds the entry of the request.
func (s *Server) openLine(w http.ResponseWriter, r *http.Request) (o opened, l *casebook.Line, ok bool) {
	if o, ok = s.openCase(w, r); !ok {
		return o, nil, false
	}
	if l = o.c.Line(r.PathValue("entry")); l == nil {
		s.missing(w, r)
		return o, nil, false
	}
	return o, l, true
}

// showCorrection shows the form of one correction with what was typed.
func (s *Server) showCorrection(w http.ResponseWriter, r *http.Request, status int, o opened, l *casebook.Line, do string, t page.Typed) {
	in, err := s.formInput(o, t.Values, t.Problems)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	c := page.CorrectionInput{FormInput: in, Line: l, Do: do}
	if do == page.DoMove {
		c.Who = strings.TrimSpace(r.URL.Query().Get("who"))
		if c.Cases, c.More, err = s.otherCases(r, o, c.Who, t.Values.Get("other_case")); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	s.render(w, r, status, page.Form(page.NewCorrectionForm(s.caseFrame(r, o, "Correct an entry"), c)))
}

// mostCases is how many patients a list offers; a name narrows it.
const mostCases = 100

// otherCases lists the cases that an entry can move to, by name.
func (s *Server) otherCases(r *http.Request, o opened, who, chosen string) (out []page.Option, more bool, err error) {
	rows, _, err := s.Caseload.Rows(r.Context(), o.now)
	if err != nil {
		return nil, false, err
	}
	if err := s.note(r, accesslog.Noted{What: accesslog.Listed}); err != nil {
		return nil, false, err
	}
	who = strings.ToLower(who)
	for _, row := range rows {
		p := row.Person
		if row.Case == o.c.ID || row.Case != chosen && !strings.Contains(strings.ToLower(p.Name+" "+p.Record), who) {
			continue
		}
		words := p.Name
		for _, more := range []string{p.Record, p.Address} {
			if more != "" {
				words += ", " + more
			}
		}
		out = append(out, page.Option{Value: row.Case, Words: words})
	}
	slices.SortStableFunc(out, func(a, b page.Option) int { return strings.Compare(a.Words, b.Words) })
	if len(out) > mostCases {
		keep := out[:mostCases:mostCases]
		for _, x := range out[mostCases:] {
			if x.Value == chosen {
				keep = append(keep, x)
			}
		}
		return keep, true, nil
	}
	return out, false, nil
}
