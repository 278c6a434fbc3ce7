package page

import "lowtide/casebook"

// MenuPage lists what can be written into a case.
type MenuPage struct {
	Frame
	Groups []MenuGroup
}

// MenuGroup is a part of the menu.
type MenuGroup struct {
	Title string
	Lines []MenuLine
}

// MenuLine is one thing that can be written.
type MenuLine struct{ Href, Words, For string }

// NewMenu makes the menu of a case, of the kinds that the person may write.
func NewMenu(frame Frame, c *casebook.Case, may func(casebook.Kind) bool) MenuPage {
	p := MenuPage{Frame: frame}
	for _, g := range casebook.Groups {
		group := MenuGroup{Title: string(g)}
		for _, k := range casebook.InGroup(g) {
			if may(k.Name) {
				group.Lines = append(group.Lines, MenuLine{KindPath(c.ID, k.Name), k.Title, k.Menu.For})
			}
		}
		if len(group.Lines) > 0 {
			p.Groups = append(p.Groups, group)
		}
	}
	return p
}

// KindPath is the page on which writing an entry of the kind begins.
func KindPath(id string, kind casebook.Kind) string {
	if k := casebook.Find(kind); k != nil && k.Menu.Page != "" {
		return CasePath(id, k.Menu.Page)
	}
	return CasePath(id, "add", string(kind))
}
