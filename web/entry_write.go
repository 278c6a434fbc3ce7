package web

import (
	"context"
	"errors"
	"net/url"
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
)

// draft is an entry that a form is about to write.
type draft struct {
	entry casebook.Entry
	// prefix leads to the entry's fields in the form, and form holds them without it.
	prefix string
	form   url.Values
}

// written says what became of drafts.
type written int

const (
	refused written = iota // there are problems
	kept                   // they were written now
	before                 // this very form was written before
	other                  // the form was written before with other content
)

// maxTries bounds how often an append is tried again when the case has moved on meanwhile.
const maxTries = 20

// write checks drafts of one case against what the case holds at that moment and appends them. When the case has
// moved on meanwhile it reads again: entries are a set, and a new one is as true as before. judge, if given, has a
// say each time.
func (s *Server) write(ctx context.Context, caseID string, drafts []draft, read intake.Problems, judge func(known []casebook.Entry) intake.Problems) (intake.Problems, written, error) {
	list := make([]casebook.Entry, len(drafts))
	for i, d := range drafts {
		list[i] = d.entry
	}
	book := s.Caseload.Book
	for try := 0; ; try++ {
		known, head, err := book.Entries(ctx, caseID)
		if err != nil {
			return nil, refused, err
		}
		switch already(known, list) {
		case before:
			return nil, before, nil
		case other:
			return nil, other, nil
		}
		ps := joinProblems(read, intake.CheckEntries(known, list, s.Now()), drafts)
		if judge != nil {
			ps = intake.Join(ps, judge(known))
		}
		if ps.Err() != nil {
			return ps, refused, nil
		}
		_, err = book.Append(ctx, head, list...)
		if errors.Is(err, casebook.ErrConflict) && try > 0 {
			return nil, other, nil // read again it is not in this case: the form was sent for another one
		}
		if try < maxTries && (errors.Is(err, casebook.ErrStale) || errors.Is(err, casebook.ErrConflict)) {
			continue
		}
		if err != nil {
			return nil, refused, err
		}
		return nil, kept, nil
	}
}

// already tells whether the entries are kept, by their IDs: the same content, or other content. The time of writing
// is not compared.
func already(known, list []casebook.Entry) written {
	by := make(map[string]casebook.Entry, len(known))
	for _, e := range known {
		by[e.ID] = e
	}
	found := 0
	for _, e := range list {
		old, ok := by[e.ID]
		if !ok {
			continue
		}
		found++
		if !casebook.SameContent(old, e) {
			return other
		}
	}
	switch {
	case found == 0:
		return kept
	case found < len(list):
		return other
	}
	return before
}

// across are the problems that only show against other entries or the clock. When the form itself has problems, the
// others would only repeat them or follow from them.
var across = map[intake.Code]bool{intake.CodeFuture: true, intake.CodeOrder: true, intake.CodeUnknownWound: true, intake.CodeBeforeWound: true, intake.CodeCanister: true, intake.CodeCorrection: true}

// joinProblems puts what CheckEntries says beside the fields of the forms that the entries were read from.
func joinProblems(read, checked intake.Problems, drafts []draft) intake.Problems {
	out := append(intake.Problems(nil), read...)
	for _, p := range checked {
		if p.Notice || len(read) > 0 && !across[p.Code] {
			continue
		}
		for i, d := range drafts {
			rest, ok := strings.CutPrefix(p.Pointer, "/entries/"+strconv.Itoa(i)+"/")
			if !ok {
				continue
			}
			p.Pointer = rest
			if in, ok := strings.CutPrefix(rest, "body/"); ok {
				p.Pointer = d.prefix + rowNames(in, d.form)
			}
			break
		}
		out = append(out, p)
	}
	return intake.Join(out)
}

// rowNames turns the positions of rows in a body into the numbers that they have in the form, which may have holes.
func rowNames(pointer string, form url.Values) string {
	segs := strings.Split(pointer, "/")
	path := ""
	for i, seg := range segs {
		if n, err := strconv.Atoi(seg); err == nil && path != "" {
			if rows := filledRows(form, path+"/"); n < len(rows) {
				segs[i] = strconv.Itoa(rows[n])
			}
		}
		if path != "" {
			path += "/"
		}
		path += segs[i]
	}
	return strings.Join(segs, "/")
}

// filledRows lists the numbers of the rows under a prefix in which something was typed, in order.
func filledRows(form url.Values, prefix string) []int {
	seen := map[int]bool{}
	for name, values := range form {
		rest, ok := strings.CutPrefix(name, prefix)
		if !ok || strings.HasSuffix(name, "?") || strings.TrimSpace(strings.Join(values, "")) == "" {
			continue
		}
		digits, _, _ := strings.Cut(rest, "/")
		if n, err := strconv.Atoi(digits); err == nil {
			seen[n] = true
		}
	}
	var out []int
	for n := range seen {
		out = append(out, n)
	}
	sort.Ints(out)
	return out
}

// readAt reads when it happened.
func readAt(form url.Values, name, words string, zone *time.Location) (time.Time, intake.Problems) {
	text := strings.TrimSpace(form.Get(name))
	if text == "" {
		return time.Time{}, intake.Problems{{Pointer: name, Code: intake.CodeMissing, Message: words + " is missing.", Remedy: "Write the date and the time."}}
	}
	at, p := intake.ReadClock(text, zone)
	if p != nil {
		p.Pointer = name
		return time.Time{}, intake.Problems{*p}
	}
	if y := at.Year(); y < 1990 || y > 2199 {
		return time.Time{}, intake.Problems{{Pointer: name, Code: intake.CodeTime, Value: text, Message: "The year " + strconv.Itoa(y) + " cannot be.", Remedy: "Check the year."}}
	}
	return at, nil
}

// entry makes an entry of this moment.
func (s *Server) entry(r *Request, id, caseID string, at time.Time, body casebook.Body) casebook.Entry {
	e := casebook.Entry{ID: id, Case: caseID, At: at, Recorded: s.Now().Truncate(time.Millisecond), Author: s.author(r), Body: body}
	if body != nil {
		e.Kind, e.Version = body.Kind(), casebook.Version(body.Kind())
	}
	return e
}
