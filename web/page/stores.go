package page

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/stock"
	"lowtide/unit"
)

// StoresPage is the agency's stock. It holds no patient.
type StoresPage struct {
	Frame
	AsOf     string
	Notes    []string
	Findings []FindingGroup
	None     string
	Items    []StoreRow
	Lots     []StoreLotRow
	Forms    []AskForm
	// Problems are those of the form that was sent.
	Problems []AskProblem
	// Recall is the look-up of a lot, for those who may see cases.
	Recall *AskForm
}

// StoreRow is one item.
type StoreRow struct{ Words, Shelf, Cars, Unusable, Week, Fortnight, ReorderAt, Order string }

// StoreLotRow is one lot.
type StoreLotRow struct{ Item, Lot, Expires, Where, State, Left string }

// NewStores builds the page. may tells whether the person may write; clinical whether she may see cases.
func NewStores(frame Frame, s *caseload.Stores, eq *equipment.Set, k Clock, may, clinical bool) StoresPage {
	p := StoresPage{Frame: frame, AsOf: k.At(s.AsOf)}
	p.Notes = storeNotes(s)
	for _, l := range rule.Levels {
		g := FindingGroup{Level: string(l), Note: levelNotes[l]}
		for _, f := range s.Findings {
			if f.Level == l {
				v := findingView(nil, withoutEntries(f), k)
				v.DoWords = "Do"
				v.ID = "f-" + strconv.Itoa(len(p.Findings)) + "-" + strconv.Itoa(len(g.Findings))
				g.Findings = append(g.Findings, v)
			}
		}
		if len(g.Findings) > 0 {
			p.Findings = append(p.Findings, g)
		}
	}
	if len(p.Findings) == 0 {
		p.None = "No rule asks for anything. That says nothing about stock that is not recorded."
	}
	for _, it := range s.Items {
		row := StoreRow{Words: it.Words, Shelf: fmt.Sprint(it.Shelf), Cars: fmt.Sprint(it.Cars), Unusable: fmt.Sprint(it.Unusable), Week: useWords(it.Week), Fortnight: useWords(it.Fortnight), ReorderAt: "cannot tell", Order: "cannot tell"}
		if it.ReorderAt != nil {
			row.ReorderAt, row.Order = unit.Number(math.Ceil(*it.ReorderAt), 0), fmt.Sprint(it.Order)
		}
		if it.ReorderAt != nil && *it.ReorderAt == 0 {
			row.ReorderAt, row.Order = "no use expected", "0"
		}
		p.Items = append(p.Items, row)
		for _, x := range it.Lots {
			p.Lots = append(p.Lots, StoreLotRow{it.Words, orWords(x.Lot, "none recorded"), orWords(x.Expires, "not recorded"), x.PlaceWords(), orWords(x.State, "may be used"), fmt.Sprint(x.Left)})
		}
	}
	if may {
		p.Forms = storeForms(s, eq, frame.Author)
		for i := range p.Forms {
			for j := range p.Forms[i].Fields {
				p.Forms[i].Fields[j].In = strconv.Itoa(i) + "-"
			}
		}
	}
	if clinical {
		p.Recall = &AskForm{Title: "Which patients got a lot", Action: "/stores/lot", Get: true, Submit: "Look it up", Quiet: true,
			Fields: []AskField{{Name: "lot", Label: "Lot", Type: "text", Needed: true}}}
	}
	return p
}

// withoutEntries leaves out links into cases, which this page must not have.
func withoutEntries(f review.Finding) review.Finding {
	why := append([]review.Why(nil), f.Why...)
	for i := range why {
		why[i].Entries = nil
	}
	f.Why = why
	return f
}

func useWords(e caseload.ExpectedUse) string {
	if e.High == 0 {
		return "0"
	}
	return fmt.Sprintf("%d (%d to %d)", e.Median, e.Low, e.High)
}

func orWords(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func storeNotes(s *caseload.Stores) []string {
	out := []string{fmt.Sprintf("Expected use is that of %s in therapy, four times in five within the brackets.", countWords(s.Patients, "patient", "patients"))}
	if s.CannotTell > 0 {
		out = append(out, fmt.Sprintf("Of %s a part cannot be told, because a size, a filler, a canister or its readings are not recorded: more will be used than is said here.", countWords(s.CannotTell, "patient", "patients")))
	}
	if s.Pending > 0 {
		out = append(out, fmt.Sprintf("%s not read: what they use is not in these numbers. Load the page again in a moment; what cannot be read stands on Rounds.", countWords(s.Pending, "case is", "cases are")))
	}
	if s.Plan == nil {
		out = append(out, "The lead time and the service level are not set: when to order cannot be told. Set them below.")
	} else {
		out = append(out, fmt.Sprintf("Orders take %s d, give or take %s d; the service level is %s %%.", unit.Number(s.Plan.LeadDays, 1), unit.Number(s.Plan.LeadSDDays, 1), unit.Number(s.Plan.ServicePct, 1)))
	}
	if s.Erased {
		out = append(out, "A patient's case was erased after the last count, and what was taken for it with it: the stock shown may be too high. Count it.")
	}
	if s.Unknown > 0 {
		out = append(out, countWords(s.Unknown, "entry is", "entries are")+" of a newer program and not counted here.")
	}
	return out
}

// storeForms are the small forms of the page. A car is that of the person who writes.
func storeForms(s *caseload.Stores, eq *equipment.Set, author string) []AskForm {
	items := []Option{{Value: "", Words: "Choose"}}
	for _, i := range eq.Items {
		items = append(items, Option{Value: i.ID, Words: i.Words})
	}
	places := []Option{{Value: stock.Shelf, Words: "Shelf"}, {Value: stock.Car(author), Words: "My car"}}
	for _, x := range s.Stock.Lots {
		if strings.HasPrefix(x.Place, "car ") && !hasOption(places, x.Place) {
			places = append(places, Option{Value: x.Place, Words: "Car of " + strings.TrimPrefix(x.Place, "car ")})
		}
	}
	choose := func(chosen string) []Option {
		out := append([]Option(nil), places...)
		for i := range out {
			out[i].Selected = out[i].Value == chosen
		}
		return out
	}
	item := AskField{Name: "item", Label: "Item", Type: "select", Options: items, Needed: true}
	number := AskField{Name: "count", Label: "How many", Type: "text", Keypad: "numeric", Needed: true}
	lot, expires := AskField{Name: "lot", Label: "Lot", Type: "text"}, AskField{Name: "expires", Label: "Use before", Type: "date"}
	outside := Option{Value: stock.Outside, Words: "Outside: the supplier, or thrown away"}
	plan := [3]string{}
	if s.Plan != nil {
		plan = [3]string{fnum(s.Plan.LeadDays), fnum(s.Plan.LeadSDDays), fnum(s.Plan.ServicePct)}
	}
	return []AskForm{
		{Title: "Came, went or moved", Action: "/stores/moved", Submit: "Save the move", Fields: []AskField{item, number,
			{Name: "from", Label: "From", Type: "select", Options: append([]Option{outside}, choose("")...)},
			{Name: "to", Label: "To", Type: "select", Options: append(choose(stock.Shelf), outside)}, lot, expires}},
		{Title: "Counted", Lead: []string{"A count replaces what was written before for this lot at this place."}, Action: "/stores/counted", Submit: "Save the count", Fields: []AskField{item, number,
			{Name: "place", Label: "Where", Type: "select", Options: choose(stock.Shelf)}, lot, expires}},
		{Title: "Recall", Action: "/stores/recalled", Submit: "Save the recall", Fields: []AskField{{Name: "lot", Label: "Lot", Type: "text", Needed: true},
			{Name: "item", Label: "Item, if it names one", Type: "select", Options: append([]Option{{Value: "", Words: "Every item with this lot"}}, items[1:]...)},
			{Name: "by", Label: "Recalled by", Type: "text", Needed: true}, {Name: "note", Label: "What they ask for", Type: "text"},
			{Name: "lifted", Label: "Lifted", Type: "ticks", Options: []Option{{Value: "yes", Words: "The recall was lifted"}}}}},
		{Title: "How ordering is done", Lead: []string{"These are your service's own numbers. The service level is the share of deliveries before which nothing should run out."}, Action: "/stores/planned", Submit: "Save the settings", Fields: []AskField{
			{Name: "lead_d", Label: "Days from the order to the shelf", Type: "text", Keypad: "decimal", Value: plan[0], Needed: true},
			{Name: "lead_sd_d", Label: "Give or take days (standard deviation; 0 when it is always the same)", Type: "text", Keypad: "decimal", Value: plan[1], Needed: true},
			{Name: "service_pct", Label: "Service level in %, such as 95", Type: "text", Keypad: "decimal", Value: plan[2], Needed: true}}},
	}
}

func hasOption(list []Option, value string) bool {
	for _, o := range list {
		if o.Value == value {
			return true
		}
	}
	return false
}

func fnum(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// BagPage is what to bring to the visits of a day.
type BagPage struct {
	Frame
	Heading, AsOf, Day string
	Picks              []Pick
	Reading            string
	Lines              []BagRow
	Visits             []BagVisitRow
	Empty              string
	// Files are where the list can be had for paper.
	Files []Link
	// Used are the visits that were made today, with what they used; Today tells that the page is of today.
	Used  []UsedRow
	Today bool
}

// BagRow is one item to pack.
type BagRow struct {
	Item, Words, Car string
	Packed           bool
	For              []string
}

// ID is the element's ID.
func (b BagRow) ID() string { return "b-" + strings.ReplaceAll(b.Item, " ", "-") }

// BagVisitRow is one visit.
type BagVisitRow struct {
	Name, Href, When, Where string
	Cannot                  []string
}

// BagDays are the days that can be packed for.
var BagDays = []string{"Today", "Tomorrow"}

// NewBag builds the page. account is whose bag and car it is.
func NewBag(frame Frame, b *caseload.Bag, stores *caseload.Stores, account string, ahead int, k Clock) BagPage {
	st := stores.Stock
	p := BagPage{Frame: frame, Heading: "Bag for today's visits", AsOf: k.At(k.Now), Day: b.Day}
	if ahead > 0 {
		p.Heading = "Bag for tomorrow's visits"
	}
	for i, words := range BagDays {
		p.Picks = append(p.Picks, Pick{Href: "/bag?ahead=" + strconv.Itoa(i), Words: words, On: i == ahead})
	}
	if b.Pending > 0 {
		p.Reading = fmt.Sprintf("%s not read: nothing for them is in this list. Load the page again in a moment; what cannot be read stands on Rounds.", countWords(b.Pending, "case is", "cases are"))
	}
	for _, x := range b.Lines {
		row := BagRow{Item: x.Item, Words: fmt.Sprintf("%d × %s", x.Count, x.Words), Packed: st.Packed(account, b.Day, x.Item)}
		have := 0
		for _, l := range st.Lots {
			if l.Item == x.Item && l.Place == stock.Car(account) {
				have += l.Count
			}
		}
		if have != 0 {
			row.Car = fmt.Sprintf("%d in your car by the record", have)
		}
		for _, it := range stores.Items {
			if it.Item == x.Item && it.Unusable > 0 && it.Shelf+it.Cars <= 0 {
				row.Car = "By the record all of it is recalled or past its date: see Stores before you pack."
			}
		}
		for _, f := range x.For {
			row.For = append(row.For, fmt.Sprintf("%d for %s: %s", f.Count, f.Name, f.Why))
		}
		p.Lines = append(p.Lines, row)
	}
	for _, v := range b.Visits {
		zone, ok := unit.Zone(v.Person.Zone)
		if !ok {
			zone = time.UTC
		}
		vk := Clock{zone, k.Now}
		row := BagVisitRow{Name: v.Person.Name, Href: CasePath(v.Case), When: "planned " + vk.near(v.At), Where: joined(", ", v.Person.Place, v.Person.Address)}
		switch {
		case v.Late:
			row.When = "due since " + vk.near(v.At)
		case !v.Planned:
			row.When = "not planned; by the interval " + vk.near(v.At)
		}
		if v.Nurse != "" {
			row.When += ", by the plan of the week: " + v.Nurse
		}
		for _, c := range v.Cannot {
			row.Cannot = append(row.Cannot, "Cannot tell "+c+".")
		}
		p.Visits = append(p.Visits, row)
	}
	if len(p.Visits) == 0 {
		p.Empty = "No visit is planned for this day among the patients on your list, and none is overdue."
	}
	return p
}
