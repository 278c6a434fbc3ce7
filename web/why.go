package web

import (
	"net/http"
	"strings"
	"unicode/utf8"

	"lowtide/web/page"
)

const maxWhy = 200

// why shows the question of why a case outside the list is opened.
func (s *Server) why(r *Request) (Answer, error) { return s.askWhy(r, http.StatusOK, "") }

// askWhy asks for the reason. It tells nothing about the patient.
func (s *Server) askWhy(r *Request, status int, typed string, ps ...page.AskProblem) (Answer, error) {
	to := ""
	if r.Method == http.MethodGet && !strings.HasSuffix(r.URL.Path, "/why") {
		to = r.URL.RequestURI()
	} else if r.Method == http.MethodPost {
		to = safePath(r.PostFormValue("to"))
	}
	f := page.AskField{Name: "why", Label: "Why do you open it?", Hint: "For example: on call tonight; asked by the nurse in charge; covering the east round.", Type: "text", Value: typed, Needed: true}
	if len(ps) > 0 {
		f.Problem = ps[0].Text
	}
	p := page.Ask{Frame: s.frame(r, "Not on your list", ""), Heading: "This patient is not on your list", Problems: ps,
		Lead:  []string{"You can open the case when your work needs it. Your reason is kept in the access log, and counts until you leave."},
		Forms: []page.AskForm{{Action: page.CasePath(r.PathValue("case"), "why"), Submit: "Open the case", Fields: []page.AskField{f, {Name: "to", Type: "hidden", Value: to}}}},
		Links: []page.Link{{Href: "/", Words: "Back to Rounds"}}}
	if status == http.StatusForbidden && r.Method != http.MethodGet {
		p.Lead = append([]string{"Nothing was saved."}, p.Lead...)
	}
	return show(status, page.AskPage(p))
}

// saveWhy keeps the reason for this session; the access log has it with every page of the case from then on.
func (s *Server) saveWhy(r *Request) (Answer, error) {
	form := r.form
	id, why := r.PathValue("case"), strings.Join(strings.Fields(form.Get("why")), " ")
	if n := utf8.RuneCountInString(why); n < 3 || n > maxWhy || !utf8.ValidString(why) {
		return s.askWhy(r, http.StatusUnprocessableEntity, why, page.AskProblem{Field: "why", Text: "The reason is missing, or longer than 200 letters.", Remedy: "Write it in a few words."})
	}
	s.doors.sessions.Show(r.who.key, id, why)
	to := safePath(form.Get("to"))
	if !strings.HasPrefix(to, page.CasePath(id)) {
		to = page.CasePath(id)
	}
	return goTo(to)
}
