package page

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/stock"
	"lowtide/unit"
)

// UsedField is the name of the ticks for lots that a visit used one of.
const UsedField = "-used"

// mostLots is how many lots a visit offers: more is a list to search, not to tick.
const mostLots = 12

// LotValue is what the tick of a lot sends: the row of what was used, one piece.
func LotValue(x stock.Lot) string { return lotValue(x, 1) }

func lotValue(x stock.Lot, n int) string {
	v := url.Values{"count": {strconv.Itoa(n)}, "item": {x.Item}, "lot": {x.Lot}, "from": {"car"}}
	if x.Place == stock.Shelf {
		v.Set("from", "shelf")
	}
	if !x.Expires.IsZero() {
		v.Set("expires", x.Expires.Format(time.DateOnly))
	}
	return v.Encode()
}

// ReadLot reads what [LotValue] wrote; ok is false for anything else.
func ReadLot(raw string, eq *equipment.Set) (u casebook.SupplyUsed, ok bool) {
	v, err := url.ParseQuery(raw)
	i, listed := eq.Item(v.Get("item"))
	if err != nil || !listed || v.Get("from") != "car" && v.Get("from") != "shelf" {
		return u, false
	}
	u = casebook.SupplyUsed{Item: i.Words, Count: 1, From: v.Get("from"), Lot: v.Get("lot"), Expires: v.Get("expires")}
	if n, err := strconv.Atoi(v.Get("count")); err == nil {
		u.Count = n
	}
	return u, true
}

// TickedLots are the rows that the ticks of a form stand for. A tick that is no lot is left out: only a form of another
// origin has one, and the rows are checked like typed ones.
func TickedLots(form url.Values, eq *equipment.Set) []casebook.SupplyUsed {
	var out []casebook.SupplyUsed
	for _, raw := range form[UsedField] {
		if u, ok := ReadLot(raw, eq); ok {
			out = append(out, u)
		}
	}
	return out
}

// WithTicked writes the ticked lots into the rows of what was used, behind those that were typed.
func WithTicked(form url.Values, eq *equipment.Set) url.Values {
	list := TickedLots(form, eq)
	if len(list) == 0 {
		return form
	}
	out := url.Values{}
	for name, values := range form {
		out[name] = values
	}
	for i, u := range list {
		row := "used/" + strconv.Itoa(maxRow-1-len(list)+i) + "/"
		out.Set(row+"item", u.Item)
		out.Set(row+"count", strconv.Itoa(u.Count))
		out.Set(row+"from", u.From)
		out.Set(row+"lot", u.Lot)
		out.Set(row+"expires", u.Expires)
	}
	return out
}

// lotWords names a lot for a tick.
func lotWords(eq *equipment.Set, x stock.Lot) string {
	words := eq.ItemWords(x.Item)
	if x.Lot != "" {
		words += ", lot " + x.Lot
	}
	if !x.Expires.IsZero() {
		words += ", use before " + x.Expires.Format("2 Jan 2006")
	}
	where := "in the car"
	if x.Place == stock.Shelf {
		where = "on the shelf"
	}
	return words + fmt.Sprintf(" (%d %s)", x.Count, where)
}

// visitUsed asks what the visit used: a tick for one piece of a lot at hand, or rows for everything else.
func (b *formBuilder) visitUsed(in FormInput) FormSection {
	list := intake.FieldsOf(casebook.KindDressingChanged)
	s := FormSection{Title: "What was used", Folded: true, Open: b.below("used/") || len(b.all(UsedField)) > 0, Lead: []string{"What is said here leaves the stock with this visit, so it is not written again under Supplies. Leave it empty when your service does not keep stock."}}
	if already := movedToday(in.Case, in.Clock); already != "" {
		s.Lead = append(s.Lead, "Supplies already written today for this patient: "+already+". Do not count the same piece twice.")
	}
	if len(in.Lots) > 0 && in.Equipment != nil {
		where := "in your car"
		if in.Lots[0].Place == stock.Shelf {
			where = "on the shelf"
		}
		f := FormField{Control: ControlTicks, Name: UsedField, Pointer: UsedField, Label: "One piece of each lot that you tick, " + where + " by the record", Wide: true}
		for i, x := range in.Lots {
			if i == mostLots {
				break
			}
			o := Option{Value: LotValue(x), Words: lotWords(in.Equipment, x)}
			for _, v := range b.Values[UsedField] {
				o.Selected = o.Selected || v == o.Value
			}
			f.Options = append(f.Options, o)
		}
		s.Fields = append(s.Fields, f)
	}
	rows := b.fields(list, "", "used")
	s.Sub = []FormSection{{Title: "Another item, or several of one lot", Folded: true, Open: b.below("used/"), Fields: rows}}
	return s
}

// movedToday says what supply entries of the day took from the stock.
func movedToday(c *casebook.Case, k Clock) string {
	var out []string
	for _, s := range c.Supplies {
		if s.Body.From != "" && s.Body.Count > 0 && sameDay(s.At, k) {
			words := fmt.Sprintf("%d × %s", s.Body.Count, s.Body.Item)
			if s.Body.Lot != "" {
				words += ", lot " + s.Body.Lot
			}
			out = append(out, words)
		}
	}
	return strings.Join(out, "; ")
}

func sameDay(t time.Time, k Clock) bool {
	return t.In(k.Zone).Format(time.DateOnly) == k.Now.In(k.Zone).Format(time.DateOnly)
}

// UsedRow is a visit of the day with what it used.
type UsedRow struct {
	Name, Href, When string
	// Said is what the visit says. When it says nothing, Lots are what the list expects, to be confirmed by Action.
	Said   []string
	Action string
	Lots   []UsedLot
}

// UsedLot is an item of a visit with the lots that it may have been of.
type UsedLot struct {
	Name, ID, Label string
	Options         []Option
}

// usedRows lists the visits of the day.
func usedRows(list []caseload.VisitUse, lots []stock.Lot, eq *equipment.Set, now time.Time) []UsedRow {
	var out []UsedRow
	for _, v := range list {
		zone, ok := unit.Zone(v.Person.Zone)
		if !ok {
			zone = time.UTC
		}
		row := UsedRow{Name: v.Person.Name, Href: LogPath(v.Case, v.Entry), When: Clock{zone, now}.near(v.At), Action: CasePath(v.Case, "visit", v.Entry, "used")}
		for _, u := range v.Used {
			row.Said = append(row.Said, usedWords(u))
		}
		for i, x := range v.Expected {
			pick := UsedLot{Name: UsedField + "/" + strconv.Itoa(i), ID: "u-" + v.Entry + "-" + strconv.Itoa(i), Label: fmt.Sprintf("%d × %s, %s", x.Count, eq.ItemWords(x.Item), x.Why),
				Options: []Option{{Value: "", Words: "Not used, or not from the stock"}}}
			for _, l := range lots {
				if l.Item == x.Item {
					pick.Options = append(pick.Options, Option{Value: lotValue(l, x.Count), Words: lotWords(eq, l)})
				}
			}
			pick.Options = append(pick.Options, Option{Value: lotValue(stock.Lot{Item: x.Item}, x.Count), Words: "From my car, lot not known"})
			row.Lots = append(row.Lots, pick)
		}
		out = append(out, row)
	}
	return out
}

func usedWords(u casebook.SupplyUsed) string {
	words := fmt.Sprintf("%d × %s", u.Count, u.Item)
	if u.Lot != "" {
		words += ", lot " + u.Lot
	}
	if u.From != "" {
		words += ", from the " + u.From
	}
	return words
}

// SetUsed puts the visits that a person made today into the page of the bag.
func (p *BagPage) SetUsed(visits []caseload.VisitUse, stores *caseload.Stores, account string, eq *equipment.Set, now time.Time) {
	var lots []stock.Lot
	for _, place := range []string{stock.Car(account), stock.Shelf} {
		for _, l := range stores.Stock.Lots {
			if _, recalled := stores.Stock.Recalled(l.Item, l.Lot); l.Place == place && l.Count > 0 && !recalled {
				lots = append(lots, l)
			}
		}
	}
	p.Today, p.Used = true, usedRows(visits, lots, eq, now)
}
