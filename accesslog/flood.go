package accesslog

import "time"

const (
	// floodFree is how many lines of the same in floodSpan are written one by one.
	floodFree = 20
	floodSpan = 10 * time.Minute
	// maxFloods bounds the places that are told apart; what comes from more is counted together.
	maxFloods = 500
	// manyPlaces stands for them.
	manyPlaces = "many addresses"
)

// floodKey is what counts as the same.
type floodKey struct {
	account string
	from    string
}

type flood struct {
	since time.Time
	lines int
	// more are those without a line of their own; last is the newest of them.
	more int
	last Noted
}

// overflow tells whether an access gets a line of its own, and gives the summary lines that are due. Only what anybody
// can do without an account is counted: each page of a case has its line.
func (l *Log) overflow(at time.Time, n Noted) (due []heldLine, own bool) {
	due = l.summaries(at, false)
	if n.What != WrongTry {
		return due, true
	}
	if l.floods == nil {
		l.floods = map[floodKey]*flood{}
	}
	k := floodKey{n.Account, n.From}
	if l.floods[k] == nil && len(l.floods) >= maxFloods {
		k, n.From = floodKey{"", manyPlaces}, manyPlaces
	}
	f := l.floods[k]
	if f == nil {
		f = &flood{since: at}
		l.floods[k] = f
	}
	if f.lines < floodFree {
		f.lines++
		return due, true
	}
	f.more++
	f.last = n
	return due, false
}

// summaries are the lines that stand for what was counted in spans that are over, or in all of them.
func (l *Log) summaries(at time.Time, all bool) (due []heldLine) {
	for k, f := range l.floods {
		// A clock that was set back ends a span too.
		if age := at.Sub(f.since); !all && age >= 0 && age < floodSpan {
			continue
		}
		if f.more > 0 {
			n := f.last
			n.Times, n.Page = f.more, ""
			due = append(due, heldLine{at, n})
		}
		delete(l.floods, k)
	}
	return due
}
