package page

import "lowtide/rule/hazard"

// HazardsPage lists the ways in which the program could hurt somebody, by group.
type HazardsPage struct {
	Frame
	Groups []HazardGroup
	Total  string
}

// HazardGroup is the hazards of one title.
type HazardGroup struct {
	Title string
	List  []HazardView
}

// HazardView is one hazard; Rules are those that stand against it.
type HazardView struct {
	ID, Title, Cause, Harm, Class, Remains, Accepts string
	Rules                                           []Link
}

// HazardPath is the address of a hazard.
func HazardPath(id string) string { return "/hazards#" + id }

// NewHazards draws the list.
func NewHazards(frame Frame) HazardsPage {
	p := HazardsPage{Frame: frame, Total: countWords(len(hazard.All()), "hazard", "hazards")}
	for _, h := range hazard.All() {
		if n := len(p.Groups); n == 0 || p.Groups[n-1].Title != h.Group {
			p.Groups = append(p.Groups, HazardGroup{Title: h.Group})
		}
		v := HazardView{ID: h.ID, Title: h.Title, Cause: h.Cause, Harm: h.Harm, Class: sentence(h.Severity) + "; " + h.Likelihood + ", with the controls " + h.After, Remains: h.Remains, Accepts: h.Accepts}
		for _, id := range h.Rules {
			v.Rules = append(v.Rules, Link{RulePath(id), id})
		}
		g := &p.Groups[len(p.Groups)-1]
		g.List = append(g.List, v)
	}
	return p
}

// hazardLinks are the hazards that a rule stands against.
func hazardLinks(rule string) []Link {
	var out []Link
	for _, h := range hazard.OfRule(rule) {
		out = append(out, Link{HazardPath(h.ID), h.Title})
	}
	return out
}
