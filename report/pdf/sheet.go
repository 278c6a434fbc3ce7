package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"

	"lowtide/report"
)

// Size is a size of paper.
type Size string

// The sizes of paper.
const (
	A4     Size = "A4"
	Letter Size = "Letter"
)

// All lengths are millimetres; type sizes are points.
const (
	margin   = 14.0
	headMm   = 8.0
	footMm   = 16.0
	mmPerPt  = 25.4 / 72
	family   = "sans"
	smallPt  = 7.0
	titlePt  = 14.0
	headPt   = 11.0
	textPt   = 9.0
	largePt  = 16.0
	cellPad  = 1.2
	signMm   = 11.0
	blockGap = 2.0
)

// sheet lays blocks on pages.
type sheet struct {
	*fpdf.Fpdf
	p     *report.Paper
	pt    float64 // of running text
	lacks bool
	// leading is the height of a line, of the type's.
	leading float64
	// widths of words are asked for often and cost a walk through the typeface
	widths map[string]float64
}

// Write returns the paper as PDF. Equal papers give equal bytes. Pages is how many there are.
func Write(p *report.Paper, size Size) (raw []byte, pages int, err error) {
	s, err := fitted(p, size)
	if err != nil {
		return nil, 0, err
	}
	var b bytes.Buffer
	if err := s.Output(&b); err != nil {
		return nil, 0, fmt.Errorf("pdf: %w", err)
	}
	return b.Bytes(), s.PageCount(), nil
}

// fitted lays the paper as large as the pages that it should take allow; one that does not fit at all goes on in a size
// that reads well.
func fitted(p *report.Paper, size Size) (*sheet, error) {
	over := 0.0
	tried := settings
	if p.Large {
		tried = largeSettings
	}
	for _, set := range tried {
		if over > 0 && set.share*set.share*set.leading/settings[0].leading > 1.1/over {
			continue // by far too large still: pictures and signs do not even shrink
		}
		s, err := lay(p, size, set.share, set.leading)
		if err != nil || p.Pages == 0 || s.PageCount() <= p.Pages {
			return s, err
		}
		if over == 0 {
			over = (float64(s.PageCount()-1) + (s.GetY()-margin-headMm)/(s.bottom()-margin-headMm)) / float64(p.Pages)
		}
	}
	return lay(p, size, tried[1].share, tried[1].leading)
}

// largeSettings keep the size of large print.
var largeSettings = []setting{{1, 1.3}, {1, 1.22}, {1, 1.16}}

type setting struct{ share, leading float64 }

// settings are what is tried: the size of type, of the usual one, and the height of a line, of the type's.
var settings = []setting{{1, 1.3}, {0.94, 1.25}, {0.88, 1.22}, {0.82, 1.18}, {0.78, 1.15}}

func lay(p *report.Paper, size Size, share, leading float64) (*sheet, error) {
	if size != A4 && size != Letter {
		return nil, errors.New("pdf: the paper is A4 or Letter")
	}
	s := &sheet{Fpdf: fpdf.New("P", "mm", string(size), ""), p: p, pt: textPt * share, leading: leading, widths: map[string]float64{}}
	if p.Large {
		s.pt = largePt * share
	}
	s.SetCompression(true)
	s.SetCatalogSort(true)
	s.SetCreationDate(p.AsOf)
	s.SetModificationDate(p.AsOf)
	s.SetTitle(p.Title, true)
	s.SetLang(p.Lang)
	s.SetProducer("Lowtide", true)
	s.SetDisplayMode("fullpage", "single")
	s.AddUTF8FontFromBytes(family, "", dejavusans.TTF)
	s.AddUTF8FontFromBytes(family, "B", dejavusansbold.TTF)
	s.SetMargins(margin, margin+headMm, margin)
	s.SetAutoPageBreak(false, 0)
	s.AliasNbPages("{of}")
	s.SetHeaderFunc(s.head)
	s.SetFooterFunc(s.foot)
	s.AddPage()
	s.title()
	for i, b := range p.Blocks {
		s.block(b, i)
	}
	if s.lacks {
		s.gap(blockGap)
		s.para("□ stands for a sign that the typeface of this paper lacks.", smallPt, "")
	}
	if err := s.Error(); err != nil {
		return nil, fmt.Errorf("pdf: %w", err)
	}
	return s, nil
}

// words prepares words for printing.
func (s *sheet) words(text string) string {
	out, lacks := printable(text)
	s.lacks = s.lacks || lacks
	return out
}

func (s *sheet) font(pt float64, style string) { s.SetFont(family, style, pt) }

func (s *sheet) right() float64 { w, _ := s.GetPageSize(); return w - margin }

func (s *sheet) width() float64 { return s.right() - margin }

func (s *sheet) bottom() float64 { _, h := s.GetPageSize(); return h - footMm - 3 }

// need starts a page when fewer millimetres are left.
func (s *sheet) need(mm float64) {
	if s.GetY()+mm > s.bottom() && s.GetY() > margin+headMm+1 {
		s.AddPage()
	}
}

func (s *sheet) gap(mm float64) {
	if s.GetY() > margin+headMm+1 {
		s.SetY(s.GetY() + mm)
	}
}

// head prints who and when on every page.
func (s *sheet) head() {
	s.ink("#16242c")
	s.font(smallPt+1, "B")
	who := strings.Join(s.p.Who, ", ")
	y := margin - 3
	for _, line := range s.wrap(who, s.width()*0.62, smallPt+1, "B") {
		s.Text(margin, y, line)
		y += (smallPt + 1) * mmPerPt * s.leading
	}
	s.font(smallPt, "")
	when := s.words(s.p.Time)
	s.Text(s.right()-s.GetStringWidth(when), margin-3, when)
	if s.p.Demo {
		words := s.words("Demonstration: invented")
		s.font(smallPt, "B")
		s.Text(s.right()-s.GetStringWidth(words), margin-3+smallPt*mmPerPt*s.leading, words)
	}
	s.line(margin, margin+headMm-3, s.right(), margin+headMm-3)
	s.SetXY(margin, margin+headMm)
}

// foot prints the caution and the number of the page.
func (s *sheet) foot() {
	_, h := s.GetPageSize()
	s.line(margin, h-footMm, s.right(), h-footMm)
	s.font(smallPt, "")
	s.ink("#46565f")
	y := h - footMm + smallPt*mmPerPt*s.leading
	for _, line := range s.wrap(s.p.Caution, s.width()*0.82, smallPt, "") {
		s.Text(margin, y, line)
		y += smallPt * mmPerPt * s.leading
	}
	s.font(smallPt, "B")
	// how many pages there are is known at the end; two figures of room are kept
	number := s.words(s.p.PageOf[0]+" "+strconv.Itoa(s.PageNo())+" "+s.p.PageOf[1]) + " {of}"
	shown := strings.Replace(number, "{of}", "00", 1)
	s.Text(s.right()-s.GetStringWidth(shown), h-footMm+smallPt*mmPerPt*s.leading, number)
	s.ink("#16242c")
}

func (s *sheet) line(x1, y1, x2, y2 float64) {
	s.SetDrawColor(185, 194, 198)
	s.SetLineWidth(0.2)
	s.Line(x1, y1, x2, y2)
}

func (s *sheet) ink(hex string) {
	r, g, b := rgb(hex)
	s.SetTextColor(r, g, b)
}

func rgb(hex string) (r, g, b int) {
	if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &r, &g, &b); err != nil {
		return 0, 0, 0
	}
	return r, g, b
}

func (s *sheet) title() {
	pt := titlePt
	if s.p.Large {
		pt = largePt * 1.4
	}
	s.bookmark(s.p.Title, 0)
	s.para(s.p.Title, pt, "B")
	s.gap(1)
}

// bookmark puts a heading into the list of headings that a reader shows and reads out beside the pages.
func (s *sheet) bookmark(text string, level int) {
	s.font(s.pt, "B")
	s.Bookmark(strings.Join(strings.Fields(text), " "), level, -1)
}

// wrap breaks words into lines of at most mm; a word that is longer is broken within.
func (s *sheet) wrap(text string, mm, pt float64, style string) []string {
	s.font(pt, style)
	var lines []string
	for _, para := range strings.Split(text, "\n") {
		line := ""
		for _, word := range strings.Fields(para) {
			for _, piece := range s.fit(word, mm) {
				try := piece
				if line != "" {
					try = line + " " + piece
				}
				if s.measure(try, pt, style) <= mm || line == "" {
					line = try
					continue
				}
				lines = append(lines, line)
				line = piece
			}
		}
		lines = append(lines, line)
	}
	// words go into printing order line by line, after breaking
	for i := range lines {
		lines[i] = s.words(lines[i])
	}
	return lines
}

// fit breaks a word that is wider than a line.
func (s *sheet) fit(word string, mm float64) []string {
	if len(word) < 12 || s.GetStringWidth(s.words(word)) <= mm {
		return []string{word}
	}
	var out []string
	piece := ""
	for _, r := range word {
		if piece != "" && s.GetStringWidth(s.words(piece+string(r))) > mm {
			out = append(out, piece)
			piece = ""
		}
		piece += string(r)
	}
	return append(out, piece)
}

// measure is the width of words in the font that is set, word by word.
func (s *sheet) measure(text string, pt float64, style string) float64 {
	sum := 0.0
	for i, word := range strings.Split(text, " ") {
		key := style + fmt.Sprint(pt) + word
		w, ok := s.widths[key]
		if !ok {
			w = s.GetStringWidth(s.words(word))
			s.widths[key] = w
		}
		sum += w
		if i > 0 {
			key := style + fmt.Sprint(pt) + " "
			if _, ok := s.widths[key]; !ok {
				s.widths[key] = s.GetStringWidth(" ")
			}
			sum += s.widths[key]
		}
	}
	return sum
}

// measured sets the font and measures in it.
func (s *sheet) measured(text string, pt float64, style string) float64 {
	s.font(pt, style)
	return s.measure(text, pt, style)
}

// para prints running text over the whole width.
func (s *sheet) para(text string, pt float64, style string) {
	high := pt * mmPerPt * s.leading
	for _, line := range s.wrap(text, s.width(), pt, style) {
		s.need(high)
		s.font(pt, style)
		s.Text(margin, s.GetY()+high*0.78, line)
		s.SetY(s.GetY() + high)
	}
}
