package caseload

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
	"lowtide/stock"
	"lowtide/supply"
)

// Stores is the agency's stock with what is expected to be used. It holds no patient: items, lots and numbers only.
type Stores struct {
	AsOf  time.Time   `json:"as_of"`
	Items []StoreItem `json:"items"`
	// Findings are those of the rules about stock, ordered like those of a case.
	Findings []review.Finding `json:"findings"`
	// Patients are counted in the expected use, CannotTell of them only in part; Pending cases were not read yet, or
	// cannot be.
	Patients   int `json:"patients"`
	CannotTell int `json:"cannot_tell"`
	Pending    int `json:"pending"`
	// Plan is how ordering is done; nil when it was never set.
	Plan *stock.Planned `json:"plan"`
	// Erased tells that a case was erased after the last count: what was taken for it is not subtracted any more.
	Erased bool `json:"erased_since_count"`
	// Unknown counts entries of a newer program.
	Unknown int `json:"unknown"`

	Stock *stock.Stock `json:"-"`
}

// StoreItem is one item of the list, or one that somebody wrote.
type StoreItem struct {
	Item  string `json:"item"`
	Words string `json:"words"`
	// Shelf and Cars are what may be used; Unusable is recalled or past its date.
	Shelf    int `json:"shelf"`
	Cars     int `json:"cars"`
	Unusable int `json:"unusable"`
	// Week and Fortnight are the expected use with its 80 % interval.
	Week      ExpectedUse `json:"week"`
	Fortnight ExpectedUse `json:"fortnight"`
	// ReorderAt is the reorder point and Safety the part of it above the expected use; nil without a plan.
	ReorderAt *float64 `json:"reorder_at"`
	Safety    *float64 `json:"safety"`
	// Order is what to order to last for a fortnight beyond the reorder point; 0 when nothing is needed or it cannot be told.
	Order int        `json:"order"`
	Lots  []StoreLot `json:"lots"`
}

// ExpectedUse is a whole number with its 80 % interval.
type ExpectedUse struct {
	Low    int `json:"low"`
	Median int `json:"median"`
	High   int `json:"high"`
}

// Words says it.
func (e ExpectedUse) Words() string {
	if e.High == 0 {
		return "none"
	}
	return fmt.Sprintf("about %d, four times in five %d to %d", e.Median, e.Low, e.High)
}

// StoreLot is one lot with where it lies.
type StoreLot struct {
	Lot     string       `json:"lot"`
	Expires string       `json:"use_before"`
	Count   int          `json:"count"`
	Places  []StorePlace `json:"places"`
	// State is "", "expired" or "recalled"; Left is what the expected use leaves of it on its date.
	State string `json:"state"`
	Left  int    `json:"left"`
}

// StorePlace is a place with what lies there.
type StorePlace struct {
	Place string `json:"place"`
	Count int    `json:"count"`
}

// PlaceWords says where lots lie: numbers only where there are several places.
func (l StoreLot) PlaceWords() string {
	var out []string
	for _, p := range l.Places {
		if len(l.Places) == 1 {
			return p.Place
		}
		out = append(out, fmt.Sprintf("%d %s", p.Count, p.Place))
	}
	return strings.Join(out, ", ")
}

// Stores brings the caseload up to date and returns the agency's stock. Days are counted in zone.
func (l *Caseload) Stores(ctx context.Context, now time.Time, zone *time.Location) (*Stores, error) {
	v, err := l.upToDate(ctx, now)
	if err != nil {
		return nil, err
	}
	l.making.Lock()
	defer l.making.Unlock()
	if s := l.stores; s != nil && l.storesAt == v.cursor && v.unread() == s.Pending && now.Sub(s.AsOf) >= 0 && now.Sub(s.AsOf) < storesKeep {
		return s, nil
	}
	s, err := l.makeStores(ctx, v, now, zone)
	if err == nil {
		l.stores, l.storesAt = s, v.cursor
	}
	return s, err
}

// storesKeep is how long a made Stores is shown while no entry arrives.
const storesKeep = time.Minute

func (l *Caseload) makeStores(ctx context.Context, v view, now time.Time, zone *time.Location) (*Stores, error) {
	entries, _, err := casebook.Register{Book: l.Book, ID: stock.Register}.Entries(ctx)
	if err != nil {
		return nil, err
	}
	uses := v.uses()
	st := stock.Fold(entries, uses)
	s := &Stores{AsOf: now, Stock: st, Plan: st.Plan, Unknown: st.Unknown, Pending: v.unread(), Findings: []review.Finding{}}
	erased, err := l.Book.Erased(ctx)
	if err != nil {
		return nil, err
	}
	for _, e := range erased {
		s.Erased = s.Erased || e.At.After(st.Counted)
	}
	week, fortnight, lead := map[string]supply.Spread{}, map[string]supply.Spread{}, map[string]supply.Spread{}
	sum := func(into map[string]supply.Spread) func(string, supply.Spread) {
		return func(item string, x supply.Spread) {
			y := into[item]
			into[item] = supply.Spread{Mean: y.Mean + x.Mean, Variance: y.Variance + x.Variance}
		}
	}
	for _, k := range v.list {
		if k.Needs == nil || k.Needs.Why != "" {
			continue
		}
		s.Patients++
		if k.Needs.Expect(now, now.Add(state.Week), sum(week)) {
			s.CannotTell++
		}
		k.Needs.Expect(now, now.Add(state.Fortnight), sum(fortnight))
		if st.Plan != nil {
			k.Needs.Expect(now, now.Add(time.Duration(st.Plan.LeadDays*24*float64(time.Hour))), sum(lead))
		}
	}
	y, m, d := now.In(zone).Date()
	today := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	for _, id := range l.itemIDs(st, fortnight) {
		s.Items = append(s.Items, l.storeItem(st, id, today, week[id], fortnight[id], lead[id]))
	}
	for i := range s.Items {
		s.Findings = append(s.Findings, l.storeFindings(&s.Items[i], st, uses, now, zone)...)
	}
	review.SortFindings(s.Findings)
	return s, nil
}

// uses are what all cases took, by case.
func (v view) uses() []stock.Use {
	var out []stock.Use
	for _, k := range v.byCase() {
		out = append(out, k.Uses...)
	}
	return out
}

// itemIDs are the items of the list in its order, then others that lie somewhere or will be used.
func (l *Caseload) itemIDs(st *stock.Stock, use map[string]supply.Spread) []string {
	var out, more []string
	for _, i := range l.Equipment.Items {
		out = append(out, i.ID)
	}
	for _, x := range st.Lots {
		if !slices.Contains(out, x.Item) && !slices.Contains(more, x.Item) {
			more = append(more, x.Item)
		}
	}
	for item := range use {
		if !slices.Contains(out, item) && !slices.Contains(more, item) {
			more = append(more, item)
		}
	}
	sort.Strings(more)
	return append(out, more...)
}

func expected(s supply.Spread) ExpectedUse {
	x := supply.Add(s, supply.Spread{})
	return ExpectedUse{x.Low, x.Median, x.High}
}

func (l *Caseload) storeItem(st *stock.Stock, id string, today time.Time, week, fortnight, lead supply.Spread) StoreItem {
	it := StoreItem{Item: id, Words: l.Equipment.ItemWords(id), Week: expected(week), Fortnight: expected(fortnight), Lots: []StoreLot{}}
	for _, x := range st.Lots {
		if x.Item != id {
			continue
		}
		n := len(it.Lots)
		if n == 0 || it.Lots[n-1].Lot != x.Lot {
			it.Lots = append(it.Lots, StoreLot{Lot: x.Lot})
			n++
		}
		lot := &it.Lots[n-1]
		lot.Count += x.Count
		lot.Places = append(lot.Places, StorePlace{x.Place, x.Count})
		if !x.Expires.IsZero() {
			lot.Expires = x.Expires.Format(time.DateOnly)
		}
		_, recalled := st.Recalled(id, x.Lot)
		switch {
		case recalled:
			lot.State = "recalled"
		case (supply.Lot{Expires: x.Expires}).Expired(today):
			lot.State = "expired"
		}
		switch {
		case lot.State != "":
			it.Unusable += max(0, x.Count)
		case x.Place == stock.Shelf:
			it.Shelf += x.Count
		default:
			it.Cars += x.Count
		}
	}
	it.left(today, fortnight.Mean/(state.Fortnight.Hours()/24))
	if p := st.Plan; p != nil && p.LeadDays > 0 && p.ServicePct > 0 && p.ServicePct < 100 {
		r := supply.ReorderPoint(lead.Mean/p.LeadDays, lead.Variance/p.LeadDays, supply.Lead{Days: p.LeadDays, SDDays: p.LeadSDDays, Service: p.ServicePct / 100})
		it.ReorderAt, it.Safety = &r.Point, &r.Safety
		if have := float64(it.Shelf + it.Cars); r.Point > 0 && have <= math.Ceil(r.Point) {
			it.Order = int(r.Point + fortnight.Mean - have + 1)
		}
	}
	return it
}

// left says what the expected use leaves of each lot on its date.
func (it *StoreItem) left(today time.Time, perDay float64) {
	var lots []supply.Lot
	for _, x := range it.Lots {
		if day, err := time.Parse(time.DateOnly, x.Expires); err == nil && x.State == "" {
			lots = append(lots, supply.Lot{Lot: x.Lot, Expires: day, Count: x.Count})
		}
	}
	for _, r := range supply.Left(lots, perDay, today) {
		for i := range it.Lots {
			if it.Lots[i].Lot == r.Lot.Lot && it.Lots[i].State == "" {
				it.Lots[i].Left = r.Left
			}
		}
	}
}

// storeFindings judges the rules about stock, once for the item and once for each of its lots.
func (l *Caseload) storeFindings(it *StoreItem, st *stock.Stock, uses []stock.Use, now time.Time, zone *time.Location) []review.Finding {
	var out []review.Finding
	judge := func(place string, fill func(state.Sink)) {
		out = append(out, review.OfStock(l.Rules, fill, place, now, zone)...)
	}
	if it.Week.High > 0 || it.Fortnight.High > 0 {
		judge(it.Words, func(set state.Sink) {
			set("stock.words", it.Words)
			set("stock.on_hand", float64(it.Shelf+it.Cars))
			set("stock.use_words", it.Week.Words())
			if it.ReorderAt != nil {
				set("stock.reorder_at", math.Ceil(*it.ReorderAt))
			}
		})
	}
	for _, x := range it.Lots {
		judge(state.LotWords(l.Equipment, it.Item, x.Lot), func(set state.Sink) {
			set("stock.lot_words", state.LotWords(l.Equipment, it.Item, x.Lot))
			set("stock.lot_count", float64(x.Count))
			set("stock.lot_where", x.PlaceWords())
			if day, err := time.ParseInLocation(time.DateOnly, x.Expires, zone); err == nil {
				set("stock.expires_at", day)
				set("stock.left", float64(x.Left))
			}
			r, recalled := st.Recalled(it.Item, x.Lot)
			set("stock.recalled", recalled)
			if recalled {
				set("stock.recall_words", state.RecallWords(zone, r))
				set("stock.recall_patients", float64(patientsWith(stock.Who(uses, r.Item, r.Lot))))
			}
		})
	}
	return out
}
