package web

import (
	"net/http"
	"slices"

	"lowtide/rule"
	"lowtide/web/page"
)

// showRules shows the rulebook.
func (s *Server) showRules(r *Request) (Answer, error) {
	q := r.URL.Query()
	f := page.RulesFilter{Words: q.Get("words"), Source: q.Get("source")}
	if a := rule.Area(q.Get("area")); slices.Contains(rule.Areas, a) {
		f.Area = a
	}
	if l := rule.Level(q.Get("level")); slices.Contains(rule.Levels, l) {
		f.Level = l
	}
	return show(http.StatusOK, page.Rules(page.NewRules(s.frame(r, "Rulebook", "Rulebook"), s.Rules, f)))
}

// showSources shows what the rules rest on: a page of its own, because both together are long.
func (s *Server) showSources(r *Request) (Answer, error) {
	return show(http.StatusOK, page.Sources(page.NewRules(s.frame(r, "Sources", "Rulebook"), s.Rules, page.RulesFilter{})))
}
