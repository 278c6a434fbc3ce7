package page

import (
	"net/url"
	"strconv"

	"lowtide/report"
)

// PapersPage lists the papers of a case.
type PapersPage struct {
	Frame
	Lines         []PaperLine
	Bundle, Bring Link
}

// PaperLine is one paper with where it can be had.
type PaperLine struct {
	Link
	For   string
	Files []Link
}

// NewPapers builds the list.
func NewPapers(frame Frame, caseID string, kinds []report.Kind, pdf, bundle, bring bool) PapersPage {
	p := PapersPage{Frame: frame}
	for _, k := range kinds {
		l := PaperLine{Link: Link{CasePath(caseID, "paper", k.Name), k.Words}, For: k.For}
		if pdf {
			l.Files = paperFiles(caseID, k.Name, nil)
		}
		p.Lines = append(p.Lines, l)
	}
	if bundle {
		p.Bundle = Link{CasePath(caseID, "fhir"), "The case as a FHIR R4 Bundle"}
	}
	if bring {
		p.Bring = Link{CasePath(caseID, "bring"), "Bring in a FHIR R4 file of another system"}
	}
	return p
}

func paperFiles(caseID, kind string, asked url.Values) []Link {
	var out []Link
	for _, size := range []string{"A4", "Letter"} {
		q := url.Values{"size": {size}}
		for _, keep := range []string{"lang", "entry"} {
			if v := asked.Get(keep); v != "" {
				q.Set(keep, v)
			}
		}
		out = append(out, Link{CasePath(caseID, "paper", kind, "pdf") + "?" + q.Encode(), "PDF, " + size})
	}
	return out
}

// PaperPage is a paper as a page.
type PaperPage struct {
	Frame
	Heading, Lang, When string
	Who                 []string
	Parts               []PaperPart
	Files, Languages    []Link
	All                 Link
}

// PaperPart is one block; exactly one of its fields is used.
type PaperPart struct {
	Heading, Text, Strong string
	List                  []string
	Points                []PaperPoints
	Pairs                 []report.Pair
	Grid                  *report.Grid
	// Name is how readers that do not see it tell a table from the others.
	Name       string
	SVG, Shows string
	Caption    string
	Sign       []string
}

// PaperPoints are the points of one group.
type PaperPoints struct {
	Group string
	Items []report.Point
}

// NewPaper builds the page of a paper.
func NewPaper(frame Frame, caseID string, p *report.Paper, asked url.Values, pdf bool) PaperPage {
	out := PaperPage{Frame: frame, Heading: p.Title, Lang: p.Lang, When: p.Time, Who: p.Who, All: Link{CasePath(caseID, "papers"), "All papers"}}
	under, names := p.Title, map[string]int{}
	for _, b := range p.Blocks {
		switch b := b.(type) {
		case report.Heading:
			under = b.Text
			out.Parts = append(out.Parts, PaperPart{Heading: b.Text})
		case report.Para:
			if b.Strong {
				out.Parts = append(out.Parts, PaperPart{Strong: b.Text})
			} else {
				out.Parts = append(out.Parts, PaperPart{Text: b.Text})
			}
		case report.List:
			out.Parts = append(out.Parts, PaperPart{List: b.Items})
		case report.Points:
			var groups []PaperPoints
			for _, q := range b.Items {
				if n := len(groups); n == 0 || groups[n-1].Group != q.Group {
					groups = append(groups, PaperPoints{Group: q.Group})
				}
				last := &groups[len(groups)-1]
				last.Items = append(last.Items, q)
			}
			out.Parts = append(out.Parts, PaperPart{Points: groups})
		case report.Pairs:
			out.Parts = append(out.Parts, PaperPart{Pairs: b.Items})
		case report.Grid:
			name := "Table: " + under
			if b.Caption != "" {
				name = b.Caption
			}
			if names[name]++; names[name] > 1 {
				name += ", " + strconv.Itoa(names[name])
			}
			out.Parts = append(out.Parts, PaperPart{Grid: &b, Name: name})
		case report.Picture:
			for _, d := range b.Drawings {
				out.Parts = append(out.Parts, PaperPart{SVG: d.SVG(), Shows: d.Title})
			}
			out.Parts = append(out.Parts, PaperPart{Caption: b.Caption, Pairs: b.Beside})
		case report.Sign:
			out.Parts = append(out.Parts, PaperPart{Sign: b.Lines})
		}
	}
	if pdf {
		out.Files = paperFiles(caseID, p.Kind, asked)
	}
	if p.Kind == "leaflet" {
		names := map[string]string{"en": "English", "es": "Español"}
		for _, l := range report.LeafletLanguages {
			out.Languages = append(out.Languages, Link{CasePath(caseID, "paper", p.Kind) + "?lang=" + l, names[l]})
		}
	}
	return out
}
