package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/web/page"
)

// pumpLogForm is an import as it arrives: the fields, then the file, which is read as it arrives and never held.
type pumpLogForm struct {
	fields url.Values
	name   string
	file   io.Reader // nil when none was chosen
}

// readPumpLog reads the fields that stand before the file.
func readPumpLog(u *upload) (f pumpLogForm, err error) {
	part, err := u.file("file")
	if err != nil && !errors.Is(err, errManyParts) {
		return f, brokenUpload(err)
	}
	f.fields = u.fields
	if part != nil {
		if f.name = shortName(part.FileName()); f.name != "" {
			f.file = part
		}
	}
	return f, nil
}

// shortName is the file's own name without its path and without what cannot be printed.
func shortName(name string) string {
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		name = name[i+1:]
	}
	name = strings.Map(func(c rune) rune {
		if c < ' ' || c == 0x7f || (c >= 0x80 && c < 0xa0) || c == 0xfffd || (c >= 0x202a && c <= 0x202e) {
			return -1
		}
		return c
	}, name)
	if r := []rune(name); len(r) > 120 {
		name = string(r[:120])
	}
	return strings.TrimSpace(name)
}

// brokenUpload is the refusal of a file that could not be read to its end.
func brokenUpload(err error) error {
	if tooLarge(err) {
		return err
	}
	return refuse(http.StatusBadRequest, "The file did not arrive whole.", "Nothing was imported. Choose the file again and send it once more.")
}

// answers puts what the form says of the columns into the text that a mapping is changed by; "" when no file was
// looked at before.
func (f pumpLogForm) answers() string {
	if f.fields.Get("looked") == "" {
		return ""
	}
	var parts []string
	for i := 1; i <= 40; i++ {
		n := strconv.Itoa(i)
		means := f.fields.Get("means-" + n)
		if means == "" {
			if _, shown := f.fields["means-"+n]; shown {
				parts = append(parts, "ignore="+n)
			}
			continue
		}
		part := means + "=" + n
		if u := f.fields.Get("unit-" + n); u != "" && unitFits(means, u) {
			part += ":" + u
		}
		if f.fields.Get("negative-"+n) != "" {
			part += ":negative"
		}
		parts = append(parts, part)
	}
	for _, name := range []string{"dates", "decimal", "delimiter", "header"} {
		if v := f.fields.Get(name); v != "" {
			parts = append(parts, name+"="+v)
		}
	}
	return strings.Join(parts, ", ")
}

func unitFits(means, unit string) bool {
	for _, m := range state.LogMeanings {
		if string(m.Channel) == means {
			for _, u := range m.Units {
				if u == unit {
					return true
				}
			}
		}
	}
	return false
}

// looked is a file whose beginning was looked at.
type looked struct {
	in       page.PumpLogImport
	mapping  state.LogMapping
	key      string
	answered bool
	clock    state.LogClock
	start    time.Time
	rest     io.Reader
}

// lookAt guesses how the file is read, takes what is remembered of tables of its kind, and then what the form says.
func (s *Server) lookAt(o opened, f pumpLogForm) (l looked, err error) {
	l.in = page.PumpLogImport{Key: f.fields.Get("-key"), Pump: strings.TrimSpace(f.fields.Get("pump")), Ahead: f.fields.Get("ahead"), Before: f.fields.Get("before"), BeforeAt: f.fields.Get("before-at"), Note: strings.TrimSpace(f.fields.Get("note")), Start: f.fields.Get("start"), File: f.name, Name: f.fields.Get("name")}
	l.clockError(o.c.Zone)
	if f.file == nil {
		l.in.Problems = append(l.in.Problems, "No file was chosen. Choose the pump's log.")
		return l, nil
	}
	head, err := io.ReadAll(io.LimitReader(f.file, state.LogHead))
	if err != nil {
		return l, err
	}
	l.rest = io.MultiReader(bytes.NewReader(head), f.file)
	g, err := state.LookLog(o.c, head)
	if err != nil {
		return l, err
	}
	l.key, l.mapping = g.Key, g.Mapping
	said := f.answers()
	if said == "" {
		var from string
		if said, from = s.remembered(o, g.Key); said != "" {
			l.in.Remembered = from
		}
	}
	if said != "" {
		m, bad := state.ChangeMapping(said, g.Mapping)
		l.mapping, l.answered = m, true
		l.in.Problems = append(l.in.Problems, bad...)
	}
	l.in.Guessed(g, l.mapping, l.answered)
	if l.in.NeedsStart {
		if l.start, err = time.ParseInLocation("2006-01-02T15:04", l.in.Start, o.c.Zone); err != nil {
			l.in.Ask = append(l.in.Ask, "The file counts its times from its beginning: say below when that was.")
		}
	}
	return l, nil
}

// clockError reads by how much the pump's clock was wrong, and by how much earlier.
func (l *looked) clockError(zone *time.Location) {
	minutes := func(text string) *float64 {
		a := strings.TrimSpace(strings.ReplaceAll(text, ",", "."))
		if a == "" {
			return nil
		}
		v, err := strconv.ParseFloat(a, 64)
		if err != nil || !(v >= -10000 && v <= 10000) {
			l.in.Problems = append(l.in.Problems, fmt.Sprintf("%q minutes is no number. Write by how many minutes the pump's clock was ahead, or nothing.", text))
			return nil
		}
		return &v
	}
	l.clock.AheadMin, l.clock.BeforeMin = minutes(l.in.Ahead), minutes(l.in.Before)
	if l.in.BeforeAt != "" {
		at, err := time.ParseInLocation("2006-01-02T15:04", l.in.BeforeAt, zone)
		switch {
		case err != nil:
			l.in.Problems = append(l.in.Problems, "The time of the earlier comparison cannot be read. Write the date and the time, or nothing for the beginning of the log.")
		case l.clock.BeforeMin == nil:
			l.in.Problems = append(l.in.Problems, "The time of an earlier comparison is given, but not by how much the clock was ahead then. Write the minutes, 0 when it was right.")
		default:
			at = at.UTC()
			l.clock.BeforeAt = &at
		}
	}
	if l.clock.BeforeMin != nil && l.clock.AheadMin == nil {
		l.in.Problems = append(l.in.Problems, "How much the clock was ahead earlier is given, but not how much when the log was read out. Write the minutes, 0 when it was right.")
	}
}

// remembered is the mapping with which a table of that kind was last read: in this case, or else in another one.
func (s *Server) remembered(o opened, key string) (text, words string) {
	if text, at, ok := state.MappingOf(o.c, key); ok {
		return text, "Read as the same kind of table was read in this case on " + o.clock.At(at) + "."
	}
	if text, ok := s.Caseload.Mapping(key); ok {
		return text, "Read as the same kind of table was last read for another patient."
	}
	return "", ""
}

// lookPumpLog shows how a file would be read. Nothing is written.
func (s *Server) lookPumpLog(r *Request) (Answer, error) {
	o := r.opened
	f, l, err := s.openPumpLog(r)
	if err != nil {
		return nil, err
	}
	if f.file != nil {
		// The rest is taken and dropped, so that the browser gets its answer.
		if _, err := io.Copy(io.Discard, l.rest); err != nil {
			return nil, brokenUpload(err)
		}
	}
	return s.renderPumpLog(r, o, http.StatusOK, l.in)
}

func (s *Server) openPumpLog(r *Request) (f pumpLogForm, l looked, err error) {
	if f, err = readPumpLog(r.upload); err != nil {
		return f, l, err
	}
	if l, err = s.lookAt(r.opened, f); err != nil {
		return f, l, brokenUpload(err)
	}
	return f, l, nil
}

// savePumpLog reads the file as it arrives and writes the entry; nothing is written when something is to be answered.
func (s *Server) savePumpLog(r *Request) (Answer, error) {
	o := r.opened
	f, l, err := s.openPumpLog(r)
	if err != nil {
		return nil, err
	}
	if l.in.Pump == "" {
		l.in.Problems = append(l.in.Problems, "No pump number. Write which pump the log is of.")
	} else if len([]rune(l.in.Pump)) > 40 {
		l.in.Problems = append(l.in.Problems, "The pump number is longer than 40 letters.")
	}
	again := func() (Answer, error) { return s.renderPumpLog(r, o, http.StatusUnprocessableEntity, l.in) }
	if len(l.in.Ask) > 0 {
		l.in.Problems = append(l.in.Problems, "The file cannot be read before the questions under \"What the columns mean\" are answered.")
	}
	if len(l.in.Problems) > 0 {
		if l.rest != nil {
			if _, err := io.Copy(io.Discard, l.rest); err != nil {
				return nil, brokenUpload(err)
			}
		}
		return again()
	}
	id, ok := entryID(l.in.Key, 0)
	if !ok {
		l.in.Problems = append(l.in.Problems, keyProblem.Message+" "+keyProblem.Remedy)
		return again()
	}
	body, packed, why, err := s.readTable(o, f, &l)
	if err != nil {
		return nil, brokenUpload(err)
	}
	if why != "" {
		l.in.Problems = append(l.in.Problems, why)
		return again()
	}
	e := s.entry(r, id, o.c.ID, o.now, body)
	if o.c.Line(id) == nil {
		hash, err := s.Caseload.Book.PutBlob(r.Context(), o.c.ID, packed)
		if err != nil {
			return nil, err
		}
		e.Blobs = []string{hash}
	}
	ps, to, err := s.write(r.Context(), o.c.ID, []draft{{entry: e, form: url.Values{}}}, nil, nil)
	switch {
	case err != nil:
		return nil, err
	case to == other:
		return nil, refuse(http.StatusConflict, "This form was sent before, with another file.", "What was imported the first time counts. Open the pump log again to import another file.")
	case to == refused:
		for _, p := range ps {
			l.in.Problems = append(l.in.Problems, p.Message+" "+p.Remedy)
		}
		return again()
	}
	return goTo(page.CasePath(o.c.ID, "pump-log") + "?saved=" + id)
}

// readTable streams the table and makes the entry of one pump; why says what keeps it from being made.
func (s *Server) readTable(o opened, f pumpLogForm, l *looked) (body casebook.LogImported, packed []byte, why string, err error) {
	t, err := state.ReadLog(o.c, l.rest, l.mapping, l.clock, l.start, o.now)
	if errors.Is(err, state.ErrLogDrift) {
		return body, nil, "The pump's clock: " + err.Error() + ". Correct one of them, or leave the earlier one empty.", nil
	}
	if err != nil {
		return body, nil, "", err
	}
	name := l.in.Name
	switch {
	case len(t.Names) == 0:
		why = fmt.Sprintf("Not one of %d rows could be used.", t.Report.Rows)
		for _, c := range t.Report.Counts[:min(3, len(t.Report.Counts))] {
			why += fmt.Sprintf(" %d rows: %s.", c.Rows, c.Why)
		}
		return body, nil, why, nil
	case len(t.Names) == 1:
		name = t.Names[0]
	}
	body, packed, ok := t.Entry(name, l.in.Pump, f.name, l.mapping, l.key, l.clock)
	if !ok {
		l.in.Names = t.Names
		return body, nil, "The file holds the pumps " + strings.Join(t.Names, ", ") + ". Look at the file and choose one; import it once for each.", nil
	}
	body.Note = l.in.Note
	return body, packed, "", nil
}
