package web

import (
	"bytes"
	"net/http"
	"net/url"
	"strings"
	"time"

	"lowtide/accesslog"
	"lowtide/web/page"
)

// accessLines is how many lines a page of the access log shows.
const accessLines = 300

// accessQuery reads what is asked for from the address.
func accessQuery(r *Request, limit int) (q accesslog.Query, back url.Values) {
	v := r.URL.Query()
	back = url.Values{}
	text := func(name string) string {
		t := strings.TrimSpace(v.Get(name))
		if t != "" && len(t) <= 200 {
			back.Set(name, t)
		}
		return back.Get(name)
	}
	day := func(name string) time.Time {
		t, err := time.Parse("2006-01-02", text(name))
		if err != nil {
			back.Del(name)
			return time.Time{}
		}
		return t
	}
	return accesslog.Query{Account: text("account"), Case: text("case"), From: day("from"), To: day("to"), Limit: limit}, back
}

// showAccess shows who read and changed what.
func (s *Server) showAccess(r *Request) (Answer, error) {
	if s.Access == nil {
		return nil, errMissing
	}
	q, back := accessQuery(r, accessLines)
	if err := s.note(r, accesslog.Noted{What: accesslog.Looked, Case: q.Case}); err != nil {
		return nil, err
	}
	found, more, err := s.Access.Find(r.Context(), q)
	if err != nil {
		return nil, err
	}
	t := page.AskTable{Caption: "Newest first, times in UTC", Head: []string{"When", "Account", "What", "Case", "On the list", "Reason", "From"}, Empty: "There is no such line."}
	for _, l := range found {
		on := ""
		switch {
		case l.Outside:
			on = "no"
		case l.Case != "" && (l.What == accesslog.Read || l.What == accesslog.Sent):
			on = "yes"
		}
		t.Rows = append(t.Rows, []page.AskCell{{Text: l.At.UTC().Format("2006-01-02 15:04:05")}, {Text: l.Account}, {Text: string(l.What)}, {Text: l.Case}, {Text: on}, {Text: l.Why}, {Text: l.From}})
	}
	p := page.Ask{Frame: s.frame(r, "Access log", "Access log"), Heading: "Access log", Lead: []string{"Who read or changed which case, when and why. Cases are named by their number only. Nothing in it can be changed."}, Tables: []page.AskTable{t}}
	if more {
		p.Lead = append(p.Lead, "There are more lines than are shown. Narrow the choice, or export.")
	}
	p.Forms = []page.AskForm{{Title: "Choose", Get: true, Action: "/access", Submit: "Show", Quiet: true, Fields: []page.AskField{
		{Name: "account", Label: "Account", Type: "text", Value: back.Get("account")}, {Name: "case", Label: "Case", Type: "text", Value: back.Get("case")},
		{Name: "from", Label: "From this day", Type: "date", Value: back.Get("from")}, {Name: "to", Label: "To this day", Type: "date", Value: back.Get("to")}}}}
	for _, as := range []string{"csv", "json"} {
		with := url.Values{"as": {as}}
		for k, v := range back {
			with[k] = v
		}
		p.Links = append(p.Links, page.Link{Href: "/access/export?" + with.Encode(), Words: "Export this choice as " + strings.ToUpper(as)})
	}
	return show(http.StatusOK, page.AskPage(p))
}

// exportAccess sends the access log as a file.
func (s *Server) exportAccess(r *Request) (Answer, error) {
	if s.Access == nil {
		return nil, errMissing
	}
	q, _ := accessQuery(r, 0)
	if err := s.note(r, accesslog.Noted{What: accesslog.Exported, Case: q.Case}); err != nil {
		return nil, err
	}
	found, _, err := s.Access.Find(r.Context(), q)
	if err != nil {
		return nil, err
	}
	name, kind, write := "lowtide-access.json", "application/json", accesslog.WriteJSON
	if r.URL.Query().Get("as") == "csv" {
		name, kind, write = "lowtide-access.csv", "text/csv; charset=utf-8", accesslog.WriteCSV
	}
	var raw bytes.Buffer
	if err := write(&raw, found); err != nil {
		return nil, err
	}
	return file(kind, name, raw.Bytes())
}
