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
func (s *Server) newCorrection(r *Request) (Answer, error) {
	o := r.opened
	l, err := openLine(r)
	if err != nil {
		return nil, err
	}
	do := r.URL.Query().Get("do")
	if !slices.Contains(page.CorrectionWays(l), do) {
		return show(http.StatusOK, page.Correction(page.NewCorrection(s.caseFrame(r, o, "Correct an entry"), o.c, l, o.clock)))
	}
	form := url.Values{}
	if do == page.DoReplace {
		form = page.StartCorrection(l, o.clock).Values
	}
	return s.showCorrection(r, http.StatusOK, o, l, do, page.Typed{Values: form})
}

// openLine finds the entry of the request.
func openLine(r *Request) (*casebook.Line, error) {
	if l := r.c.Line(r.PathValue("entry")); l != nil {
		return l, nil
	}
	return nil, errMissing
}

// showCorrection shows the form of one correction with what was typed.
func (s *Server) showCorrection(r *Request, status int, o opened, l *casebook.Line, do string, t page.Typed) (Answer, error) {
	in, err := s.formInput(o, t.Values, t.Problems)
	if err != nil {
		return nil, err
	}
	c := page.CorrectionInput{FormInput: in, Line: l, Do: do}
	if do == page.DoMove {
		c.Who = strings.TrimSpace(r.URL.Query().Get("who"))
		if c.Cases, c.More, err = s.otherCases(r, o, c.Who, t.Values.Get("other_case")); err != nil {
			return nil, err
		}
	}
	return show(status, page.Form(page.NewCorrectionForm(s.caseFrame(r, o, "Correct an entry"), c)))
}

// mostCases is how many patients a list offers; a name narrows it.
const mostCases = 100

// otherCases lists the cases that an entry can move to, by name.
func (s *Server) otherCases(r *Request, o opened, who, chosen string) (out []page.Option, more bool, err error) {
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
