package page

import (
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"

	"lowtide/state"
	"lowtide/unit"
)

// benchStages is how many stages a program on the Bench can have.
const benchStages = 4

// BenchNumber is one number of the path. Slide and its step are for the slider that the script puts beside it; the
// number itself may go from Least to Most.
type BenchNumber struct {
	Name, Label, Unit, Hint, Value string
	// In names what the number belongs to, where several have the same label: "Program A, ".
	In                   string
	Slide, SlideTo, Step float64
	Least, Most          float64
	Problem              string
}

// ID is the element's ID.
func (n BenchNumber) ID() string { return "bench-" + n.Name }

// BenchForm is the form of the Bench as it was asked for, with what is wrong in it.
type BenchForm struct {
	Classes, Fillers []Option
	Numbers          []BenchNumber
	A, B             [][2]BenchNumber
	Band             bool
	Problems         []FormProblem
	// Input is what to compute; it is not used when there are problems.
	Input state.BenchInput
	// Filler is the filler that was chosen.
	Filler string
}

// benchNumber describes a number and where in the path it goes.
type benchNumber struct {
	name, label, unit, hint           string
	slide, slideTo, step, least, most float64
	get                               func(*state.BenchInput) *float64
	factor                            float64 // from the page's unit to the path's
	digits                            int
}

var benchNumbers = []benchNumber{
	{"hours", "Length of the run", "h", "", 0.5, 6, 0.5, 0.05, 24, func(b *state.BenchInput) *float64 { return &b.Setup.Hours }, 1, 2},
	{"canister", "Canister size", "mL", "", 100, 1000, 50, 20, 3000, func(b *state.BenchInput) *float64 { return &b.Setup.CanisterML }, 1, 0},
	{"fluid", "Fluid in the canister", "mL", "", 0, 1000, 10, 0, 3000, func(b *state.BenchInput) *float64 { return &b.Setup.FluidML }, 1, 0},
	{"leak", "Leak at 125 mmHg", "mL/min", "A tight seal leaks a few, a bad one some hundreds.", 0, 200, 1, 0, 20000, func(b *state.BenchInput) *float64 { return &b.Setup.LeakMLMin }, 1, 1},
	{"height", "Pump above the wound", "cm", "With a minus when it is below.", -100, 100, 5, -500, 500, func(b *state.BenchInput) *float64 { return &b.Setup.HeightM }, 0.01, 0},
	{"liquid", "Share of the tube's upright run filled with liquid", "%", "", 0, 100, 5, 0, 100, func(b *state.BenchInput) *float64 { return &b.Setup.LiquidShare }, 0.01, 0},
	{"altitude", "Altitude", "m", "An aircraft cabin is at about 2400 m at most.", 0, 4000, 100, -500, 11000, func(b *state.BenchInput) *float64 { return &b.Setup.AltitudeM }, 1, 0},
	{"vent", "Air that the pump lets in for a shallower stage", "mL/min per mmHg", "0 is a pump that lets none in.", 0, 20, 0.5, 0, 10000, func(b *state.BenchInput) *float64 { return &b.Setup.Pump.VentMLMinMmHg }, 1, 2},
	{"tube", "Length of the tube", "m", "", 0.3, 4, 0.1, 0.05, 30, func(b *state.BenchInput) *float64 { return &b.Setup.Tube.LengthM }, 1, 2},
	{"bore", "Bore of the tube", "mm", "", 1, 8, 0.5, 0.5, 30, func(b *state.BenchInput) *float64 { return &b.Setup.Tube.BoreMM }, 1, 1},
}

// ReadBench reads the form from the address over a start. What is not given stays as in the start.
func ReadBench(q url.Values, start state.BenchInput) BenchForm {
	f := BenchForm{Input: start, Filler: "foam", Band: q.Has("band") || len(q) == 0}
	class := start.Setup.Class
	for _, c := range state.BenchClasses() {
		if q.Get("class") == c {
			class = c
		}
	}
	for _, c := range state.BenchClasses() {
		f.Classes = append(f.Classes, Option{Value: c, Words: sentence(c) + " pump", Selected: c == class})
	}
	if s, ok := state.BenchStart(class); ok && class != start.Setup.Class {
		f.Input.Setup.Class, f.Input.Setup.Pump = class, s.Pump
	}
	f.Input.Band = f.Band
	for _, n := range benchNumbers {
		f.Numbers = append(f.Numbers, f.number(q, n))
	}
	f.filler(q)
	f.A, f.Input.A = f.stages(q, "a", start.A)
	f.B, f.Input.B = f.stages(q, "b", start.B)
	if len(f.Input.A) == 0 && len(f.Problems) == 0 {
		f.wrong("bench-a1s", "Program A has no stage.", "Write a suction for its first stage.")
	}
	if s := f.Input.Setup; s.FluidML > s.CanisterML && len(f.Problems) == 0 {
		f.wrong("bench-fluid", "There is more fluid than the canister holds.", "Check both numbers.")
	}
	return f
}

func (f *BenchForm) wrong(id, text, remedy string) {
	f.Problems = append(f.Problems, FormProblem{Text: text, Remedy: remedy, Href: "#" + id})
}

func (f *BenchForm) number(q url.Values, n benchNumber) BenchNumber {
	at := n.get(&f.Input)
	out := BenchNumber{Name: n.name, Label: n.label, Unit: n.unit, Hint: n.hint, Slide: n.slide, SlideTo: n.slideTo, Step: n.step, Least: n.least, Most: n.most,
		Value: unit.Number(*at/n.factor, n.digits)}
	if x, ok := f.typed(q, &out); ok {
		*at = x * n.factor
	}
	return out
}

// typed reads what was typed for a number, if anything was; a wrong one is shown again with what is wrong.
func (f *BenchForm) typed(q url.Values, n *BenchNumber) (float64, bool) {
	text := strings.TrimSpace(clean(q.Get(n.Name)))
	if text == "" {
		return 0, false
	}
	n.Value = text
	x, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
	if err != nil || math.IsNaN(x) || x < n.Least || x > n.Most {
		n.Problem = fmt.Sprintf("%s: write a number from %s to %s %s.", n.In+n.Label, unit.Number(n.Least, 2), unit.Number(n.Most, 2), n.Unit)
		f.wrong(n.ID(), n.Problem, "")
		return 0, false
	}
	return x, true
}

// filler chooses the filler and its bulk, from which the void follows.
func (f *BenchForm) filler(q url.Values) {
	i := 0
	for k, x := range state.BenchFillers {
		if x.Words == q.Get("filler") {
			i = k
		}
	}
	for k, x := range state.BenchFillers {
		f.Fillers = append(f.Fillers, Option{Value: x.Words, Words: sentence(x.Words), Selected: k == i})
	}
	f.Filler = state.BenchFillers[i].Words
	n := BenchNumber{Name: "bulk", Label: "Filler put in, before suction", Unit: "mL", Slide: 10, SlideTo: 600, Step: 10, Least: 0, Most: 5000, Value: "150"}
	bulk, ok := f.typed(q, &n)
	if !ok {
		bulk = 150
	}
	f.Input.Setup.VoidML = state.BenchFillers[i].VoidML(bulk)
	// After the canister's numbers.
	f.Numbers = append(f.Numbers[:3], append([]BenchNumber{n}, f.Numbers[3:]...)...)
}

// stages reads one program. A row without a suction is left out.
func (f *BenchForm) stages(q url.Values, program string, start state.BenchProgram) (rows [][2]BenchNumber, out state.BenchProgram) {
	asked := false
	for i := 1; i <= benchStages; i++ {
		asked = asked || q.Has(program+strconv.Itoa(i)+"s")
	}
	for i := 1; i <= benchStages; i++ {
		p := program + strconv.Itoa(i)
		s := BenchNumber{Name: p + "s", In: "Program " + strings.ToUpper(program) + ", ", Label: fmt.Sprintf("Stage %d: suction", i), Unit: "mmHg", Slide: 0, SlideTo: 200, Step: 5, Most: 750}
		h := BenchNumber{Name: p + "h", In: "Program " + strings.ToUpper(program) + ", ", Label: fmt.Sprintf("Stage %d: hold", i), Unit: "min", Slide: 0.5, SlideTo: 30, Step: 0.5, Least: 0.1, Most: 1440}
		if !asked && i <= len(start) {
			s.Value, h.Value = unit.Number(start[i-1].SuctionMmHg, 1), unit.Number(start[i-1].HoldMin, 1)
			out = append(out, start[i-1])
		} else if x, ok := f.typed(q, &s); ok {
			hold := 60.0
			if y, given := f.typed(q, &h); given {
				hold = y
			}
			out = append(out, state.BenchStage(x, hold))
		} else {
			h.Value = strings.TrimSpace(clean(q.Get(h.Name)))
		}
		rows = append(rows, [2]BenchNumber{s, h})
	}
	if len(out) > 1 {
		for i := range rows {
			if strings.TrimSpace(rows[i][0].Value) != "" && strings.TrimSpace(rows[i][1].Value) == "" {
				rows[i][1].Problem = rows[i][1].In + rows[i][1].Label + ": with several stages each needs a hold."
				f.wrong(rows[i][1].ID(), rows[i][1].Problem, "")
			}
		}
	}
	return rows, out
}

// BenchDraft turns a program on the Bench into the stages of an order's form. A person looks through the form and
// saves it; nothing is ordered before.
func BenchDraft(q url.Values) url.Values {
	out := url.Values{}
	program := q.Get("keep")
	if program != "a" && program != "b" {
		return out
	}
	n := 0
	for i := 1; i <= benchStages; i++ {
		p := program + strconv.Itoa(i)
		s, h := short(q.Get(p+"s")), short(q.Get(p+"h"))
		if s == "" {
			continue
		}
		row := "stages/" + strconv.Itoa(n) + "/"
		out.Set(row+"suction_mmHg", s)
		if h != "" {
			out.Set(row+"hold_min", h)
		}
		n++
	}
	for _, f := range state.BenchFillers {
		if n > 0 && q.Get("filler") == f.Words {
			out.Set("filler", f.Words)
		}
	}
	return out
}

// short keeps what can be a number.
func short(s string) string {
	if s = strings.TrimSpace(clean(s)); len(s) > 12 {
		return ""
	}
	return s
}
