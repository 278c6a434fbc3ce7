package pdf

import (
	"strings"

	"lowtide/report"
)

func (s *sheet) block(b report.Block, i int) {
	switch b := b.(type) {
	case report.Heading:
		s.gap(blockGap)
		pt := s.pt * headPt / textPt
		// a heading is not left alone at the foot of a page
		after := 12.0
		if i+1 < len(s.p.Blocks) {
			if pic, ok := s.p.Blocks[i+1].(report.Picture); ok {
				_, after = s.scale(pic)
			}
		}
		s.need(pt*mmPerPt*s.leading + after)
		s.bookmark(b.Text, 1)
		s.para(b.Text, pt, "B")
		s.gap(0.6)
	case report.Para:
		style := ""
		if b.Strong {
			style = "B"
		}
		s.para(b.Text, s.pt, style)
		s.gap(blockGap)
	case report.List:
		for _, item := range b.Items {
			s.item(item, b.Boxes)
		}
		s.gap(blockGap)
	case report.Points:
		s.points(b)
		s.gap(blockGap)
	case report.Pairs:
		s.pairs(b)
		s.gap(blockGap)
	case report.Grid:
		s.grid(b)
	case report.Picture:
		s.picture(b)
	case report.Sign:
		s.sign(b.Lines)
	}
}

// pairs prints labels with what they say. In a dense list two stand side by side where both are short.
func (s *sheet) pairs(b report.Pairs) {
	short := func(p report.Pair) bool { return len(p.Text) <= 48 && len(p.Label) <= 44 }
	for i := 0; i < len(b.Items); i++ {
		p := b.Items[i]
		if b.Dense && i+1 < len(b.Items) && short(p) && short(b.Items[i+1]) {
			q := b.Items[i+1]
			s.row([]string{p.Label, p.Text, q.Label, q.Text}, []float64{0.2, 0.3, 0.2, 0.3}, "BB", false)
			i++
			continue
		}
		share := []float64{0.27, 0.73}
		if s.p.Large {
			share = []float64{0.42, 0.58}
		}
		if b.Dense {
			share = []float64{0.2, 0.8}
		}
		s.row([]string{p.Label, p.Text}, share, "B", false)
	}
}

// bold tells whether the cell i of a row is bold: all of a head, the first, or every label of a dense list.
func bold(style string, i int) string {
	if style == "head" || style == "B" && i == 0 || style == "BB" && i%2 == 0 {
		return "B"
	}
	return ""
}

// item prints a point of a list, with a box to tick or a short rule before it.
func (s *sheet) item(text string, box bool) {
	high, indent := s.pt*mmPerPt*s.leading, s.pt*mmPerPt*1.6
	lines := s.wrap(text, s.width()-indent, s.pt, "")
	for j, line := range lines {
		s.need(high)
		if j == 0 {
			s.SetDrawColor(22, 36, 44)
			s.SetLineWidth(0.25)
			side := s.pt * mmPerPt * 0.8
			if box {
				s.Rect(margin, s.GetY()+high*0.15, side, side, "D")
			} else {
				s.Line(margin, s.GetY()+high*0.5, margin+side*0.6, s.GetY()+high*0.5)
			}
		}
		s.font(s.pt, "")
		s.Text(margin+indent, s.GetY()+high*0.78, line)
		s.SetY(s.GetY() + high)
	}
	s.gap(0.5)
}

// points prints points under the words of their groups, the lead of each in bold and its text behind it.
func (s *sheet) points(b report.Points) {
	pt := s.pt - 0.5
	high, indent := pt*mmPerPt*s.leading, pt*mmPerPt*1.2
	group := ""
	for _, q := range b.Items {
		lines := s.wrapLead(q.Lead, q.Text, s.width()-indent, pt)
		if q.Group != group {
			group = q.Group
			s.need(3 * high)
			s.para(group, s.pt, "B")
		}
		for i, line := range lines {
			// the last line of a point is not left alone on the next page, nor its first one on this
			if left := len(lines) - i; i == 0 && left > 1 || left == 2 {
				page := s.PageNo()
				if s.need(2 * high); s.PageNo() != page && i == 0 {
					s.para(group+", continued", s.pt, "B")
				}
			}
			s.need(high)
			if i == 0 {
				s.SetDrawColor(22, 36, 44)
				s.SetLineWidth(0.25)
				s.Line(margin, s.GetY()+high*0.5, margin+indent*0.5, s.GetY()+high*0.5)
			}
			x := margin + indent
			for k, part := range line {
				style := []string{"B", ""}[k]
				s.font(pt, style)
				s.Text(x, s.GetY()+high*0.78, part)
				if part != "" {
					x += s.GetStringWidth(part + " ")
				}
			}
			s.SetY(s.GetY() + high)
		}
		s.gap(0.3)
	}
}

// wrapLead breaks a bold lead and the text behind it into lines, each of what is bold and what is not.
func (s *sheet) wrapLead(lead, text string, mm, pt float64) [][2]string {
	var lines [][2]string
	bold := s.wrap(lead, mm, pt, "B")
	for _, l := range bold {
		lines = append(lines, [2]string{l, ""})
	}
	if text == "" {
		return lines
	}
	// what fits behind the lead's last line goes there
	last := &lines[len(lines)-1]
	s.font(pt, "B")
	room := mm - s.GetStringWidth(last[0]+" ")
	words := strings.Fields(text)
	n := 0
	for n < len(words) && s.measured(strings.Join(words[:n+1], " "), pt, "") <= room {
		n++
	}
	last[1] = s.words(strings.Join(words[:n], " "))
	if n < len(words) {
		for _, l := range s.wrap(strings.Join(words[n:], " "), mm, pt, "") {
			lines = append(lines, [2]string{"", l})
		}
	}
	return lines
}

// grid prints a table; its head is repeated on every page that it reaches.
func (s *sheet) grid(g report.Grid) {
	if g.Caption != "" {
		s.need(28)
		s.para(g.Caption, s.pt, "B")
	}
	sum := 0.0
	for _, v := range g.Shares {
		sum += v
	}
	shares := make([]float64, len(g.Head))
	for i := range shares {
		shares[i] = 1 / float64(len(shares))
		if i < len(g.Shares) && sum > 0 {
			shares[i] = g.Shares[i] / sum
		}
	}
	first := 0.0
	if len(g.Rows) > 0 {
		first = min(s.rowHeight(g.Rows[0], shares), 40)
	}
	s.need(s.rowHeight(g.Head, shares) + first) // a head is not left alone
	s.row(g.Head, shares, "head", true)
	for _, r := range g.Rows {
		page := s.PageNo()
		if s.rowHeight(r, shares) < s.bottom()-margin-headMm && s.GetY()+s.rowHeight(r, shares) > s.bottom() {
			s.AddPage()
		}
		if s.PageNo() != page {
			s.row(g.Head, shares, "head", true)
		}
		s.row(r, shares, "", true)
	}
	s.gap(blockGap)
}

func (s *sheet) rowHeight(cells []string, shares []float64) float64 {
	most := 1
	for i, c := range cells {
		most = max(most, len(s.wrap(c, s.width()*shares[i]-2*cellPad, s.pt-0.5, "")))
	}
	return float64(most)*(s.pt-0.5)*mmPerPt*s.leading + cellPad*1.6
}

// row prints cells side by side. style "B" makes the first bold, "head" all. A row that is higher than what is left of
// the page goes on on the next.
func (s *sheet) row(cells []string, shares []float64, style string, ruled bool) {
	pt := s.pt - 0.5
	high := pt * mmPerPt * s.leading
	lines := make([][]string, len(cells))
	most := 1
	for i, c := range cells {
		lines[i] = s.wrap(c, s.width()*shares[i]-2*cellPad, pt, bold(style, i))
		most = max(most, len(lines[i]))
	}
	s.SetY(s.GetY() + cellPad*0.3)
	if all := float64(most)*high + cellPad; all < 60 {
		s.need(all) // a short row is not parted
	}
	for j := range most {
		s.need(high + cellPad)
		x, y := margin, s.GetY()
		for i := range cells {
			if j < len(lines[i]) {
				s.font(pt, bold(style, i))
				s.Text(x+cellPad, y+high*0.78, lines[i][j])
			}
			x += s.width() * shares[i]
		}
		s.SetY(y + high)
	}
	s.SetY(s.GetY() + cellPad*0.3)
	if ruled {
		s.line(margin, s.GetY(), s.right(), s.GetY())
	}
}

// sign prints lines to sign on, side by side.
func (s *sheet) sign(labels []string) {
	s.need(signMm + 6)
	s.SetY(s.GetY() + signMm)
	each := s.width() / float64(max(1, len(labels)))
	s.SetDrawColor(22, 36, 44)
	s.SetLineWidth(0.3)
	for i, l := range labels {
		x := margin + float64(i)*each
		s.Line(x, s.GetY(), x+each-4, s.GetY())
		y := s.GetY()
		for _, line := range s.wrap(l, each-4, smallPt, "") {
			y += smallPt * mmPerPt * s.leading
			s.font(smallPt, "")
			s.Text(x, y, line)
		}
	}
	s.SetY(s.GetY() + 2*smallPt*mmPerPt)
}
