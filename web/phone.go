package web

import (
	"io"
	"net/http"
	"net/url"

	"lowtide/web/page"
)

// showPhone shows the page about the phone in one's hand. It says nothing that the server knows.
func (s *Server) showPhone(r *Request) (Answer, error) {
	return show(http.StatusOK, page.Phone(page.PhonePage{Frame: s.frame(r, "This phone", "")}))
}

// Locked answers on a phone whose list is locked: with the page that opens it, whatever was asked for. A form that was sent
// comes back on it.
func Locked() http.Handler {
	s := &Server{}
	return s.headers(http.HandlerFunc(func(w http.ResponseWriter, in *http.Request) {
		r := &Request{Request: in, header: w.Header()}
		p := page.PhonePage{Frame: page.Frame{Title: "This phone", Outside: true, Look: page.LookDevice}}
		if in.Method == http.MethodPost && in.Header.Get("Content-Type") == "application/x-www-form-urlencoded" {
			if raw, err := io.ReadAll(io.LimitReader(in.Body, formLimit)); err == nil {
				r.form, _ = url.ParseQuery(string(raw)) // as much of it as can be read
				p.Again = sentAgain(r)
			}
		}
		if err := sendPage(w, in, http.StatusOK, page.Phone(p)); err != nil {
			http.Error(w, "This phone could not make the page.", http.StatusInternalServerError)
		}
	}))
}
