package caseload

import (
	"cmp"
	"slices"
	"time"

	"lowtide/casebook"
	"lowtide/rule"
)

// order is the list as Rounds shows it. What changed is put into its place when somebody next looks, in a new list, so that
// whoever holds the old one can go on with it.
type order struct {
	list    []*kept
	rows    []*Row // of list
	changed []change
}

// change is one row that goes out of the list or comes in; nil is none.
type change struct{ out, in *kept }

// manyChanges is how many rows are put into their places one by one; with more, the list is ordered anew.
const manyChanges = 64

// Place is where something stands on Rounds, before its name: by level, by due time (none first for Act now, last
// otherwise), and by area (danger signs first). It takes 60 bits.
func Place(level int, due time.Time, area int) uint64 {
	at := uint64(1)<<48 - 1
	switch {
	case !due.IsZero():
		at = uint64(max(1, due.Unix()+1<<40)) & (1<<48 - 1)
	case level == rule.ActNow.Rank():
		at = 0
	}
	return uint64(level)<<56 | at<<8 | uint64(area)
}

// placeOf is where a row stands: by its first finding, and without one at the end.
func placeOf(r *Row) uint64 {
	if len(r.Findings) == 0 {
		return 1<<63 - 1
	}
	f := &r.Findings[0]
	var due time.Time
	if f.Due != nil {
		due = *f.Due
	}
	return Place(f.Level.Rank(), due, f.Area.Rank())
}

func before(a, b *kept) int {
	return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.Row.Person.Name, b.Row.Person.Name), cmp.Compare(a.Row.Case, b.Row.Case))
}

// put notes a change. The lock must be held.
func (o *order) put(out, in *kept) {
	if out != nil || in != nil {
		o.changed = append(o.changed, change{out, in})
	}
}

// current puts what changed into its place and returns the list, which nobody may change. all are the rows that stand in
// it. The lock must be held.
func (o *order) current(all map[string]*kept) ([]*kept, []*Row) {
	if len(o.changed) == 0 {
		return o.list, o.rows
	}
	if len(o.changed) > manyChanges {
		o.list = make([]*kept, 0, len(all))
		for _, k := range all {
			o.list = append(o.list, k)
		}
		slices.SortFunc(o.list, before)
	} else {
		o.list = append(make([]*kept, 0, len(o.list)+len(o.changed)), o.list...)
		for _, c := range o.changed {
			if c.out != nil {
				if i, ok := slices.BinarySearchFunc(o.list, c.out, before); ok {
					o.list = slices.Delete(o.list, i, i+1)
				}
			}
			if c.in != nil {
				i, _ := slices.BinarySearchFunc(o.list, c.in, before)
				o.list = slices.Insert(o.list, i, c.in)
			}
		}
	}
	o.changed = nil
	o.rows = make([]*Row, len(o.list))
	for i, k := range o.list {
		o.rows[i] = &k.Row
	}
	return o.list, o.rows
}

// view is what is known of every case at one moment.
type view struct {
	list []*kept
	rows []*Row
	// waiting are the cases that are still to be reviewed: those that are in the list stand there as they were.
	waiting map[string]bool
	// unknown counts the cases that wait and are not in the list.
	unknown int
	cursor  int64
	stock   []casebook.Entry
}

// ready are the rows that hold now.
func (v view) ready() []*Row {
	if len(v.waiting) == 0 {
		return v.rows
	}
	out := make([]*Row, 0, len(v.rows))
	for _, r := range v.rows {
		if !v.waiting[r.Case] {
			out = append(out, r)
		}
	}
	return out
}

// unread counts the cases that no list beside Rounds tells of: those still to be reviewed, and those that cannot be.
func (v view) unread() int {
	n := len(v.waiting)
	for _, k := range v.list {
		if k.Row.Failed && !v.waiting[k.Row.Case] {
			n++
		}
	}
	return n
}

// byCase is the list ordered by case.
func (v view) byCase() []*kept {
	out := slices.Clone(v.list)
	slices.SortFunc(out, func(a, b *kept) int { return cmp.Compare(a.Row.Case, b.Row.Case) })
	return out
}
