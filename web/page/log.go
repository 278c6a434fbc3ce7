package page

import (
	"encoding/json"
	"net/url"
	"strconv"
	"time"

	"lowtide/casebook"
	"lowtide/wording"
)

// LogFilter is what the address of a log asks for.
type LogFilter struct {
	Kind casebook.Kind
	// Entry asks for the page that holds this entry, whatever its kind; Page for a page by number.
	Entry string
	Page  int
	// MayTake tells whether the reader may take an entry over that came by file.
	MayTake func(casebook.Entry) bool
}

// LogPage is everything that was written in a case, newest first.
type LogPage struct {
	Frame
	CaseHref, Total string
	Kinds           Choice
	Action          string
	Lines           []LogLine
	Previous, Next  string
	PageWords       string
	Empty           string
}

// LogLine is an entry with what became of it.
type LogLine struct {
	Anchor, Title, At, Recorded, Author, Kind string
	// State is empty for what is in force.
	State string
	// Now is what counts. Was is what was written at first, when that is something else.
	Now, Was         []Part
	NowWords, Before string
	Corrections      []LogCorrection
	// Corrects is what a correction corrects, with its reason.
	Corrects    *Link
	Reason      string
	Warning     string
	CorrectHref string
	// Other is the other patient's case, when an entry moved.
	Other *Link
	Blobs string
	// Came says that the entry came by file, and who took it over; Claimed that nobody has.
	Came    string
	Claimed bool
	// TakeHref leads to taking it over, for whoever may write such an entry.
	TakeHref string
}

// LogCorrection is a correction in force, at the entry that it corrects.
type LogCorrection struct{ Words, Reason, Href string }

// LogPerPage is how many entries a page of the log holds.
const LogPerPage = 40

// lateAfter is how much later than it happened an entry must be written for both times to be shown.
const lateAfter = 5 * time.Minute

// NewLog builds the page of a log.
func NewLog(frame Frame, c *casebook.Case, f LogFilter, now time.Time) LogPage {
	k := Clock{c.Zone, now}
	p := LogPage{Frame: frame, CaseHref: CasePath(c.ID), Action: CasePath(c.ID, "log")}
	p.Frame.Case = c.ID
	if c.Person != nil {
		p.Frame.Person = c.Person.Body.Name
	}
	if f.Entry != "" {
		f.Kind = ""
	}
	var lines []*casebook.Line
	counts := map[casebook.Kind]int{}
	for i := len(c.Log) - 1; i >= 0; i-- {
		l := &c.Log[i]
		counts[lineKind(l)]++
		if f.Kind == "" || lineKind(l) == f.Kind {
			if l.Entry.ID == f.Entry {
				f.Page = len(lines)/LogPerPage + 1
			}
			lines = append(lines, l)
		}
	}
	pages := max(1, (len(lines)+LogPerPage-1)/LogPerPage)
	n := min(max(f.Page, 1), pages)
	for _, l := range lines[(n-1)*LogPerPage : min(n*LogPerPage, len(lines))] {
		p.Lines = append(p.Lines, logLine(c, l, k, f.MayTake))
	}
	p.Total = countWords(len(lines), "entry", "entries") + ", newest first"
	if len(lines) == 0 {
		p.Empty = "No entry of this kind."
	}
	p.Kinds = kindChoice(f.Kind, counts)
	if pages > 1 {
		p.PageWords = "Page " + strconv.Itoa(n) + " of " + strconv.Itoa(pages)
	}
	if n > 1 {
		p.Previous = logAddress(p.Action, f.Kind, n-1)
	}
	if n < pages {
		p.Next = logAddress(p.Action, f.Kind, n+1)
	}
	return p
}

func logAddress(base string, kind casebook.Kind, n int) string {
	q := url.Values{"page": {strconv.Itoa(n)}}
	if kind != "" {
		q.Set("kind", string(kind))
	}
	return base + "?" + q.Encode()
}

// kindChoice offers the kinds that the log holds, with their counts.
func kindChoice(kind casebook.Kind, counts map[casebook.Kind]int) Choice {
	c := Choice{Name: "kind", Label: "Show", Value: string(kind), Options: []Option{{"", "every kind", kind == ""}}}
	for _, k := range casebook.Kinds() {
		if counts[k] > 0 || k == kind {
			c.Options = append(c.Options, Option{string(k), wording.Kind(k) + " (" + strconv.Itoa(counts[k]) + ")", k == kind})
		}
	}
	return c
}

// TakePath is where an entry that came by file is taken over.
func TakePath(caseID, entry string) string { return CasePath(caseID, "take", entry) }

func logLine(c *casebook.Case, l *casebook.Line, k Clock, may func(casebook.Entry) bool) LogLine {
	e := l.Entry
	v := LogLine{Anchor: Anchor(e.ID), At: k.At(l.At), Author: e.Author, Kind: wording.Kind(lineKind(l)), State: stateWords(l.State)}
	if v.Author == "" {
		v.Author = "author not recorded"
	}
	if e.Came != nil {
		v.Came, v.Claimed = wording.Came(e.Came, k.At), e.Came.Claimed()
		if v.Claimed && may != nil && may(e) {
			v.TakeHref = TakePath(c.ID, e.ID)
		}
	}
	if d := e.Recorded.Sub(l.At); d.Abs() > lateAfter && !e.Recorded.IsZero() {
		v.Recorded = k.At(e.Recorded)
	}
	if len(e.Blobs) > 0 {
		v.Blobs = countWords(len(e.Blobs), "file", "files") + " attached"
	}
	now := lineSaid(l, k)
	v.Title, v.Now = now.Title, now.Parts
	switch l.State {
	case casebook.Replaced:
		was := Say(original(e), k)
		v.NowWords, v.Before = "Now reads", "Written at first"
		v.Was = append([]Part{{"", was.Title}}, was.Parts...)
		if first := originalAt(e); !first.Equal(l.At) {
			v.Was = append(v.Was, Part{"Time", k.At(first)})
		}
	case casebook.Withdrawn, casebook.MovedOut:
		v.Was, v.Now = now.Parts, nil
		v.Before = "Written at first; it does not count any more"
	}
	for _, id := range l.By {
		v.Corrections = append(v.Corrections, correction(c, id, k))
	}
	if b, ok := e.Body.(casebook.EntryCorrected); ok {
		v.Reason = e.Reason
		if b.OtherCase != "" {
			v.Other = &Link{CasePath(b.OtherCase), "The other patient's case"}
		}
		v.Corrects = target(c, e, b, k)
		if said, ok := replacing(c, e, b, k); ok {
			v.NowWords, v.Now = "Reads instead", said
		}
	} else {
		v.CorrectHref = CasePath(c.ID, "correct", e.ID)
	}
	if l.State == casebook.MovedIn || l.State == casebook.Correction {
		v.CorrectHref = CasePath(c.ID, "correct", e.ID)
	}
	if l.Conflict {
		v.Warning = "This entry arrived with two different contents. One of them is shown here: check it against the paper or ask who wrote it."
	}
	if _, unknown := l.Now.(casebook.Unknown); unknown {
		v.Warning = joined(" ", v.Warning, "This program does not know this entry and no rule looked at it.")
	}
	return v
}

// original is the body that was written at first.
func original(e casebook.Entry) casebook.Body {
	if b, ok := e.Body.(casebook.EntryCorrected); ok && b.Original != nil {
		return b.Original.Body
	}
	return e.Body
}

func originalAt(e casebook.Entry) time.Time {
	if b, ok := e.Body.(casebook.EntryCorrected); ok && b.Original != nil {
		return b.Original.At
	}
	return e.At
}

// correction says who corrected an entry, when and why.
func correction(c *casebook.Case, id string, k Clock) LogCorrection {
	out := LogCorrection{Words: "Corrected", Href: LogPath(c.ID, id)}
	if by := c.Line(id); by != nil {
		out.Words = Say(by.Entry.Body, k).Title + " by " + joined("", by.Entry.Author) + ", " + k.At(by.Entry.Recorded)
		out.Reason = by.Entry.Reason
	}
	return out
}

// target is the entry that a correction corrects.
func target(c *casebook.Case, e casebook.Entry, b casebook.EntryCorrected, k Clock) *Link {
	if b.Action == "moved in" {
		return nil
	}
	l := c.Line(e.Corrects)
	if l == nil {
		return &Link{"", "an entry that is not in this case (" + e.Corrects + ")"}
	}
	return &Link{LogPath(c.ID, e.Corrects), wording.Kind(lineKind(l)) + " of " + k.At(l.At)}
}

// replacing is the content that a correction puts in place, in words; ok is false for other corrections.
func replacing(c *casebook.Case, e casebook.Entry, b casebook.EntryCorrected, k Clock) (parts []Part, ok bool) {
	l := c.Line(e.Corrects)
	if b.Action != "replace" || l == nil {
		return nil, false
	}
	if t, err := time.Parse(time.RFC3339Nano, b.At); err == nil {
		parts = append(parts, Part{"Time", k.At(t)})
	}
	if len(b.Body) > 0 {
		// An entry reads its own body: the same decoder, with the same care for what is not known.
		version := l.Entry.Version
		if m, moved := l.Entry.Body.(casebook.EntryCorrected); moved && m.Original != nil {
			version = m.Original.Version
		}
		raw, err := json.Marshal(map[string]any{"kind": lineKind(l), "version": version, "body": b.Body})
		var read casebook.Entry
		if err != nil || json.Unmarshal(raw, &read) != nil {
			return parts, true
		}
		said := Say(read.Body, k)
		parts = append(append(parts, Part{"", said.Title}), said.Parts...)
	}
	return parts, true
}

// stateWords says what became of an entry; empty for what is in force.
func stateWords(s casebook.State) string {
	switch s {
	case casebook.InForce:
		return ""
	case casebook.MovedOut:
		return "moved out to another patient's case"
	case casebook.MovedIn:
		return "moved in from another patient's case"
	case casebook.Correction: // the title and the kind say it
		return ""
	}
	return string(s)
}
