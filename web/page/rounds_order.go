package page

import (
	"cmp"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"lowtide/caseload"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/unit"
)

// passesState keeps ended cases out, unless something in them is pressing: a case that was ended with filler
// missing must not drop out of sight.
func (f RoundsFilter) passesState(r *caseload.Row) bool {
	ended := r.Therapy.State == "ended"
	if f.Ended {
		return ended
	}
	return !ended || len(r.Findings) > 0 && r.Findings[0].Level.Rank() <= rule.Today.Rank()
}

func (f RoundsFilter) passesPerson(p state.Person, n *roundsNames) bool {
	match := func(want, have string, free bool) bool {
		return want == "" || strings.EqualFold(want, have) || free && strings.Contains(strings.ToLower(have), strings.ToLower(want))
	}
	return match(f.Name, p.Name, true) && match(f.Nurse, p.Nurse, len(n.nurses) > maxOptions) && match(f.Team, p.Team, len(n.teams) > maxOptions) && match(f.Place, p.Place, false)
}

// passes tells whether a finding that falls on the day on is asked for, on the given day or on any (-1).
func (f RoundsFilter) passes(fd *caseload.RowFinding, on, day int) bool {
	return (f.Level == "" || fd.Level == f.Level) && (day < 0 || on == day)
}

// place adds the row to the list, once, or once for each of the days that are asked for.
func (f RoundsFilter) place(items []roundsItem, r *caseload.Row, k *roundsClock, on []int8, whose func(state.Person) int) []roundsItem {
	plan := -1
	if r.Therapy.NextVisit != nil && f.Level == "" {
		plan = k.day(*r.Therapy.NextVisit)
	}
	for _, day := range f.days() {
		it := roundsItem{row: r, clock: k, group: day, rank: 4, top: -1}
		for i := range r.Findings {
			if fd := &r.Findings[i]; f.passes(fd, int(on[i]), day) {
				it.top, it.rank = i, fd.Level.Rank()
				if fd.Due != nil {
					it.due = *fd.Due
				}
				break
			}
		}
		planned := day >= 0 && plan == day
		if it.top < 0 && planned {
			it.due = *r.Therapy.NextVisit
		}
		if it.top < 0 && !planned && (day >= 0 || f.Level != "") || day < 0 && it.top > 0 {
			continue
		}
		if day < 0 {
			it.group = it.rank
			if whose != nil {
				it.group = whose(r.Person)
			}
		}
		items = append(items, it)
	}
	return items
}

// days lists the days that are asked for; -1 is any.
func (f RoundsFilter) days() []int {
	switch f.When {
	case "3days":
		return []int{dayOverdue, dayToday, dayTomorrow, dayAfter}
	case "overdue":
		return []int{dayOverdue}
	case "today":
		return []int{dayToday}
	case "tomorrow":
		return []int{dayTomorrow}
	case "after":
		return []int{dayAfter}
	}
	return []int{-1}
}

// roundsPlace is an item in the order: its key holds group, level, due time and area.
type roundsPlace struct {
	key  uint64
	item int32
}

// ordered orders by group, level, due time (none first for Act now, last otherwise), area (danger signs first), name
// and case. Ten thousand rows are ordered at each request, so small places are moved about and not the items.
func ordered(items []roundsItem) []roundsPlace {
	out := make([]roundsPlace, len(items))
	for i := range items {
		it := &items[i]
		area := len(rule.Areas)
		if it.top >= 0 {
			area = it.row.Findings[it.top].Area.Rank()
		}
		out[i] = roundsPlace{uint64(it.group)<<60 | caseload.Place(it.rank, it.due, area), int32(i)}
	}
	slices.SortFunc(out, func(a, b roundsPlace) int {
		if a.key != b.key {
			return cmp.Compare(a.key, b.key)
		}
		x, y := items[a.item].row, items[b.item].row
		if c := cmp.Compare(x.Person.Name, y.Person.Name); c != 0 {
			return c
		}
		return cmp.Compare(x.Case, y.Case)
	})
	return out
}

// address is Rounds with this filter.
func (f RoundsFilter) address() string {
	q := url.Values{}
	set := func(name, value string) {
		if value != "" {
			q.Set(name, value)
		}
	}
	set("name", f.Name)
	set("nurse", f.Nurse)
	set("team", f.Team)
	set("place", f.Place)
	set("level", string(f.Level))
	set("when", f.When)
	if f.Ended {
		set("ended", "1")
	}
	if f.Page > 1 {
		set("page", strconv.Itoa(f.Page))
	}
	if len(q) == 0 {
		return "/"
	}
	return "/?" + q.Encode()
}

func countWords(n int, one, many string) string { return unit.Count(n, one, many) }
