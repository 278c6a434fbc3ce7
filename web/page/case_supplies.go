package page

import (
	"fmt"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/state"
	"lowtide/unit"
)

// SuppliesView is the part of a case's page about supplies and the payer.
type SuppliesView struct {
	// Why says why nothing is expected to be used.
	Why    string
	Basis  string
	Use    []SupplyRow
	Cannot []string
	Payer  PayerView
}

// SupplyRow is the expected use of one item.
type SupplyRow struct{ Item, For, Week, Fortnight string }

// PayerView is where the case stands before its payer.
type PayerView struct {
	// None says that no payer is noted, or that its policy is not known.
	None         string
	Add          Link
	Name, Verify string
	Example      bool
	Parts        []Part
	Rows         []PayerRow
	Undocumented []string
	Documented   []string
	Barred       []string
	Unasked      []string
	Figures      []FigureView
	Limits       []Part
	Note         string
}

// PayerRow is a limit with what was used.
type PayerRow struct{ What, Limit, Month, Calendar string }

// AddSupplies puts the part about supplies and the payer into the page.
func (p *CasePage) AddSupplies(c *casebook.Case, r *review.Review, eq *equipment.Set, now time.Time) {
	k, s := Clock{c.Zone, now}, r.State.Supplies()
	v := &SuppliesView{Why: s.Needs.Why}
	for i, u := range s.Week {
		row := SupplyRow{Item: eq.ItemWords(u.Item), For: u.Words, Week: spreadWords(u.Low, u.Median, u.High)}
		if i < len(s.Fortnight) {
			f := s.Fortnight[i]
			row.Fortnight = spreadWords(f.Low, f.Median, f.High)
		}
		v.Use = append(v.Use, row)
	}
	for _, w := range s.Cannot {
		v.Cannot = append(v.Cannot, "Cannot tell "+w+".")
	}
	if s.Needs.Why == "" {
		v.Basis = "Next change " + k.near(s.Needs.Next) + ", then every " + unit.Number(s.Needs.EveryH, 0) + " h"
		if !s.Needs.Ordered {
			v.Basis = "Next change " + k.near(s.Needs.Next) + ", then every " + unit.Number(s.Needs.FirstH, 1) + " to " + unit.Number(s.Needs.LastH, 1) + " h, as is usual: the order does not say"
		}
		v.Basis += ". Canisters from the forecast of the output, each for at most " + unit.Duration(s.Needs.StayH).String() + ". Therapy is taken to go on."
	}
	v.Payer = payerView(c, r, r.State.Payer, k)
	p.Supplies = v
	for i, l := range p.Contents {
		if l.Href == "#people" {
			p.Contents = append(p.Contents[:i:i], append([]Link{{"#supplies", "Supplies and payer"}}, p.Contents[i:]...)...)
			break
		}
	}
}

func spreadWords(low, median, high int) string {
	if high == 0 {
		return "0"
	}
	return fmt.Sprintf("%d (%d to %d)", median, low, high)
}

func payerView(c *casebook.Case, r *review.Review, s *state.PayerStand, k Clock) PayerView {
	v := PayerView{Verify: state.PayerVerify, Add: Link{CasePath(c.ID, "add", string(casebook.KindPayerNoted)), "Note the payer"}}
	switch {
	case s == nil:
		v.None = "No payer is noted."
		return v
	case s.Policy == nil:
		v.None = "The payer noted is " + s.Noted.Payer + ", and there is no policy of that name here. Its file belongs into the folder payer of the local protocol."
		return v
	}
	v.Add.Words = "Change what is noted"
	v.Name, v.Example, v.Note = s.Policy.Name, s.Policy.Example, s.Policy.Note
	date := func(t time.Time) string { return t.Format("Mon 2 Jan 2006") }
	put := func(label, text string) { v.Parts = append(v.Parts, Part{label, text}) }
	for _, b := range s.Barred {
		v.Barred = append(v.Barred, b.Words)
	}
	for _, b := range s.Unasked {
		v.Unasked = append(v.Unasked, b.Words)
	}
	for _, x := range s.Undocumented {
		v.Undocumented = append(v.Undocumented, x.Words+" ("+x.Locator+"; "+x.Sure+")")
	}
	for _, x := range s.Documented {
		v.Documented = append(v.Documented, x.Words)
	}
	for _, l := range s.Policy.Limits {
		v.Limits = append(v.Limits, Part{unit.Number(l.Value, 0) + " " + l.Unit, l.Words + " (" + l.Locator + "; " + sureWords[l.Sure] + ")"})
	}
	if !s.StartKnown {
		put("Start", "cannot tell: therapy has not started here, and no first day is noted")
		return v
	}
	put("Counted from", date(s.Clock.Start)+", "+s.StartWords+" (day "+fmt.Sprint(s.Clock.Day)+" today)")
	if !s.Clock.End.IsZero() {
		put("Payment ends", s.EndWords())
	}
	for _, w := range s.Wounds {
		text := "cannot tell: no size is recorded"
		if !w.MeasureBy.IsZero() {
			text = "last " + date(w.MeasuredAt) + ", next by " + date(w.MeasureBy)
		}
		put("Wound "+w.Wound+" measured", text)
		put("Wound "+w.Wound+", progress as the payer sees it", progressWords(w))
		v.Rows = append(v.Rows, payerRow("Kits, wound "+w.Wound, w.Kits))
	}
	v.Rows = append(v.Rows, payerRow("Canisters", s.Canisters))
	put("The payer's month", date(s.Clock.Month.From)+" to "+date(s.Clock.Month.To.AddDate(0, 0, -1)))
	switch _, line := s.Policy.Limit("high_output"); {
	case !line:
	case s.High == nil:
		put("High output", "not documented: no two canister readings at least "+unit.Duration(s.ApartH).String()+" apart in this month")
	case *s.High:
		put("High output", "documented: "+unit.Number(*s.HighOutput, 0)+" mL a day, above the payer's line")
	default:
		put("High output", "the highest documented is "+unit.Number(*s.HighOutput, 0)+" mL a day, not above the payer's line")
	}
	for _, f := range r.Figures() {
		if strings.HasPrefix(f.ID, "payer.") {
			v.Figures = append(v.Figures, figureView(c, f, k))
		}
	}
	return v
}

var sureWords = map[string]string{"P": "read in the source", "P2": "read in a text that quotes it", "C": "computed", "M": "from memory"}

func progressWords(w state.PayerWound) string {
	p := w.Progress
	switch {
	case !p.Known:
		return "cannot tell: no two sizes that can be compared"
	case !p.Whole:
		return "cannot tell yet: the sizes lie less than a month apart"
	case p.Better:
		return "smaller than on " + p.From.Day.Format("2 Jan 2006") + " (length × width or depth)"
	}
	return "neither length × width nor depth is smaller than on " + p.From.Day.Format("2 Jan 2006")
}

func payerRow(what string, u state.PayerUse) PayerRow {
	row := PayerRow{What: what, Limit: "none"}
	if u.Limit > 0 {
		row.Limit = unit.Number(u.Limit, 0)
	}
	say := func(used, expected int) string {
		if !u.Told {
			return fmt.Sprintf("%d used; cannot tell how many by its end", used)
		}
		return fmt.Sprintf("%d used, %d expected by its end", used, expected)
	}
	row.Month, row.Calendar = say(u.Month, u.ExpectedMonth), say(u.Calendar, u.ExpectedCalendar)
	return row
}
