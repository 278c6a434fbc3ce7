package report

import (
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/chart"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/unit"
	"lowtide/wording"
)

// Paper is a document about one case, or about none.
type Paper struct {
	// Kind is the short English name that addresses and files use; Title is its heading in its language.
	Kind, Title string
	// Lang is the BCP 47 language of the words.
	Lang string
	// Who is the patient as every page names her; empty for a paper about no patient.
	Who []string
	// Time is when it is true, as every page prints it.
	Time   string
	AsOf   time.Time
	Blocks []Block
	// Large asks for large print; Pages is how many pages it should take at most, 0 for any number.
	Large bool
	Pages int
	// Demo tells that the patient is invented.
	Demo bool
	// Caution stands at the foot of every page.
	Caution string
	// PageOf are the words before the number of a page and before how many there are.
	PageOf [2]string
}

// Block is one of [Heading], [Para], [List], [Points], [Pairs], [Grid], [Picture] and [Sign].
type Block interface{ block() }

// Heading starts a part.
type Heading struct{ Text string }

// Para is running text.
type Para struct {
	Text   string
	Strong bool
}

// List is a list of points; Boxes are to be ticked by hand.
type List struct {
	Items []string
	Boxes bool
}

// Points are points under the words of their groups, each a lead and what belongs to it.
type Points struct{ Items []Point }

// Point is one point; points of one group stand together.
type Point struct{ Group, Lead, Text string }

// Pair is a label with what it says.
type Pair struct{ Label, Text string }

// Pairs is a list of labels with what they say. Dense ones are set two side by side.
type Pairs struct {
	Items []Pair
	Dense bool
}

// Grid is a table. Shares are the widths of its columns, of any sum.
type Grid struct {
	Caption string
	Head    []string
	Rows    [][]string
	Shares  []float64
}

// Picture is drawings side by side, at one scale, with what they show. Beside stands to their right where there is room.
type Picture struct {
	Drawings []chart.Drawing
	Caption  string
	Beside   []Pair
}

// Sign is lines to sign on.
type Sign struct{ Lines []string }

func (Heading) block() {}
func (Para) block()    {}
func (List) block()    {}
func (Points) block()  {}
func (Pairs) block()   {}
func (Grid) block()    {}
func (Picture) block() {}
func (Sign) block()    {}

// Caution is what every paper about a patient says.
const Caution = "Lowtide supports and does not replace clinical judgement. The prescriber, the local protocol and the device's instructions decide. In an emergency call the local emergency number. Lowtide controls no pump and is no alarm system."

// Input is what a paper is written from.
type Input struct {
	Review    *review.Review
	Rules     *rule.Set
	Equipment *equipment.Set
	Demo      bool
}

func (in Input) state() *state.State { return in.Review.State }

// clock prints a time with its year, in the patient's zone.
func (in Input) clock(t time.Time) string {
	return t.In(in.state().Zone()).Format("Mon 2 Jan 2006 15:04")
}

func (in Input) date(t time.Time) string { return t.In(in.state().Zone()).Format("2 Jan 2006") }

// say puts an entry into the words of the log, each time with its year: paper is read in other years too.
func (in Input) say(b casebook.Body) (title string, parts []Pair) {
	said := wording.Say(b, in.clock)
	for _, p := range said.Parts {
		parts = append(parts, Pair(p))
	}
	return said.Title, parts
}

// start begins a paper about the case.
func (in Input) start(kind, title string) *Paper {
	p := &Paper{Kind: kind, Title: title, Lang: "en", AsOf: in.Review.AsOf, Time: "As of " + in.clock(in.Review.AsOf) + " (" + in.Review.Person.Zone + ")",
		Demo: in.Demo, Caution: Caution, PageOf: [2]string{"page", "of"}}
	q := in.Review.Person
	p.Who = append(p.Who, orUnknown(q.Name, "name not recorded"))
	if in.state().Registered() != nil && in.state().Registered().Body.Born != "" {
		p.Who = append(p.Who, "born "+wording.Date(in.state().Registered().Body.Born))
	}
	p.Who = append(p.Who, "record "+orUnknown(q.Record, "not recorded"))
	return p
}

func orUnknown(s, unknown string) string {
	if strings.TrimSpace(s) == "" {
		return unknown
	}
	return s
}

func (p *Paper) add(b ...Block) { p.Blocks = append(p.Blocks, b...) }

// pairs adds a list of pairs, leaving out what is empty.
func (p *Paper) pairs(items ...Pair) {
	var out []Pair
	for _, i := range items {
		if strings.TrimSpace(i.Text) != "" {
			out = append(out, i)
		}
	}
	if out != nil {
		p.add(Pairs{Items: out})
	}
}

// dense is pairs set two side by side.
func (p *Paper) dense(items ...Pair) {
	n := len(p.Blocks)
	p.pairs(items...)
	if len(p.Blocks) > n {
		p.Blocks[n] = Pairs{Items: p.Blocks[n].(Pairs).Items, Dense: true}
	}
}

// number prints an optional number.
func number(v *float64, decimals int, unitWord string) string {
	if v == nil {
		return ""
	}
	return unit.Number(*v, decimals) + " " + unitWord
}

// stages says a program in words.
func stages(list []casebook.Stage) string {
	if len(list) == 0 {
		return "not recorded"
	}
	if len(list) == 1 {
		return unit.Number(list[0].SuctionMmHg, 0) + " mmHg below ambient, held all the time"
	}
	var out []string
	for _, s := range list {
		hold := "hold not recorded"
		if s.HoldMin != nil {
			hold = unit.Number(*s.HoldMin, 1) + " min"
		}
		out = append(out, unit.Number(s.SuctionMmHg, 0)+" mmHg for "+hold)
	}
	return strings.Join(out, ", then ") + ", repeated (mmHg below ambient)"
}

func yesNo(b *bool) string {
	switch {
	case b == nil:
		return ""
	case *b:
		return "yes"
	}
	return "no"
}
