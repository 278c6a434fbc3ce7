package web

import (
	"net/http"
	"strconv"

	"lowtide/casebook"
	"lowtide/web/page"
)

// showLog shows everything that was written in a case.
func (s *Server) showLog(r *Request) (Answer, error) {
	o := r.opened
	c, rev, now := o.c, o.rev, o.now
	q := r.URL.Query()
	f := page.LogFilter{Entry: q.Get("entry")}
	if kind := casebook.Kind(q.Get("kind")); casebook.Find(kind) != nil {
		f.Kind = kind
	}
	f.MayTake = func(e casebook.Entry) bool { return mayTake(r.who, e) }
	f.Page, _ = strconv.Atoi(q.Get("page"))
	return show(http.StatusOK, page.Log(page.NewLog(s.frame(r, "Log of "+rev.Person.Name, ""), c, f, now)))
}
