package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
)

// saveCorrection writes a correction of an entry. Both versions stay.
func (s *Server) saveCorrection(r *Request) (Answer, error) {
	o := r.opened
	l, err := openLine(r)
	if err != nil {
		return nil, err
	}
	form, ps := r.form, r.broken
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		ps = append(ps, keyProblem)
	}
	do := form.Get("-do")
	if !slices.Contains(page.CorrectionWays(l), do) {
		// A form that was sent twice finds the entry corrected already.
		if o.c.Line(id) != nil || do == page.DoMove && l.State == casebook.MovedOut {
			return afterWrite(o.c.ID, savedID(o.c, l, id), before, nil, nil)
		}
		return nil, refuse(http.StatusConflict, "This entry cannot be corrected in that way any more.", "Somebody corrected it meanwhile. Open the log and look at what it says now.")
	}
	if form.Get("-more") != "" {
		return s.showCorrection(r, http.StatusOK, o, l, do, page.Typed{Values: form})
	}
	reason, reasonPs := readReason(form)
	ps = intake.Join(ps, reasonPs)
	x := correction{o: o, l: l, id: id, key: form.Get("-key"), reason: reason, form: form}
	var to written
	switch do {
	case page.DoReplace:
		ps, to, err = s.replace(r, x, ps)
	case page.DoMove:
		ps, to, err = s.move(r, &x, ps)
	default:
		ps, to, err = s.withdraw(r, x, ps)
	}
	return afterWrite(o.c.ID, x.id, to, err, func() (Answer, error) {
		return s.showCorrection(r, http.StatusUnprocessableEntity, o, l, do, page.Typed{Values: form, Problems: ps})
	})
}

// savedID is the entry that a correction form wrote before: by its own ID, or the newest correction of the line.
func savedID(c *casebook.Case, l *casebook.Line, id string) string {
	if c.Line(id) == nil && len(l.By) > 0 {
		return l.By[len(l.By)-1]
	}
	return id
}

// correction is what the ways to correct share.
type correction struct {
	o      opened
	l      *casebook.Line
	id     string
	key    string
	reason string
	form   url.Values
}

// maxReason is the longest reason, in characters.
const maxReason = 1000

func readReason(form url.Values) (string, intake.Problems) {
	reason := strings.TrimSpace(strings.ReplaceAll(form.Get("reason"), "\r\n", "\n"))
	problem := func(code intake.Code, message, remedy string) (string, intake.Problems) {
		return reason, intake.Problems{{Pointer: "reason", Code: code, Message: message, Remedy: remedy}}
	}
	switch {
	case reason == "":
		return problem(intake.CodeMissing, "A correction needs its reason.", "Write why the entry is wrong.")
	case !utf8.ValidString(reason):
		return problem(intake.CodeEncoding, "The reason holds characters that cannot be read.", "Type it again.")
	case strings.ContainsFunc(reason, func(r rune) bool { return r < 0x20 && r != '\n' && r != '\t' || r == 0x7f }):
		return problem(intake.CodeControl, "The reason holds a control character.", "Remove it; line breaks are fine.")
	case utf8.RuneCountInString(reason) > maxReason:
		return problem(intake.CodeLength, "The reason is longer than 1,000 characters.", "Shorten it.")
	}
	return reason, nil
}

// corrects makes the entry of a correction.
func (s *Server) corrects(r *Request, id, caseID, target, reason string, body casebook.EntryCorrected) casebook.Entry {
	e := s.entry(r, id, caseID, s.Now().Truncate(time.Second), body)
	e.Corrects, e.Reason = target, reason
	return e
}

// replace writes another content or time in place of the entry's.
func (s *Server) replace(r *Request, x correction, ps intake.Problems) (intake.Problems, written, error) {
	kind := x.l.Entry.Kind
	if photo, ok := x.l.Now.(casebook.PhotoTaken); ok {
		// Nobody types the size of a photo; it stays what the file says.
		x.form.Set("width_px", strconv.Itoa(photo.WidthPx))
		x.form.Set("height_px", strconv.Itoa(photo.HeightPx))
	}
	raw, found := intake.Replacement(kind, x.form, x.o.c.Zone)
	at, atPs := readAt(x.form, "at", "When it happened", x.o.c.Zone)
	ps = intake.Join(ps, found, atPs)
	body := casebook.EntryCorrected{Action: "replace"}
	now, err := json.Marshal(x.l.Now)
	if err != nil {
		return nil, refused, err
	}
	if string(now) != string(raw) {
		body.Body = raw
	}
	if atPs == nil && !at.Equal(x.l.At) {
		body.At = at.Format(time.RFC3339Nano)
	}
	if body.Body == nil && body.At == "" && ps.Err() == nil && x.o.c.Line(x.id) == nil {
		ps = append(ps, intake.Problem{Code: intake.CodeCorrection, Message: "Nothing was changed.", Remedy: "Change what is wrong, or leave without saving."})
	}
	e := s.corrects(r, x.id, x.o.c.ID, x.l.Entry.ID, x.reason, body)
	if x.o.c.Line(x.id) != nil {
		// The same form again: what it says was compared with what it made of the entry, so compare with what it wrote.
		if sameReplacement(x.o.c.Line(x.id).Entry, raw, at, x.reason) {
			return nil, before, nil
		}
		return nil, other, nil
	}
	return s.write(r.Context(), x.o.c.ID, []draft{{entry: e, form: x.form}}, ps, nil)
}

// sameReplacement tells whether a kept correction says what the form says.
func sameReplacement(kept casebook.Entry, raw json.RawMessage, at time.Time, reason string) bool {
	b, ok := kept.Body.(casebook.EntryCorrected)
	if !ok || kept.Reason != reason || b.Body != nil && string(b.Body) != string(raw) {
		return false
	}
	t, err := time.Parse(time.RFC3339Nano, b.At)
	return b.At == "" || err == nil && t.Equal(at)
}

// withdraw takes an entry out of force, or undoes a correction. What undoes a move does so in both cases.
func (s *Server) withdraw(r *Request, x correction, ps intake.Problems) (intake.Problems, written, error) {
	e := s.corrects(r, x.id, x.o.c.ID, x.l.Entry.ID, x.reason, casebook.EntryCorrected{Action: "withdraw"})
	here := []draft{{entry: e, form: x.form}}
	body, ok := x.l.Entry.Body.(casebook.EntryCorrected)
	switch {
	case ok && body.Action == "moved out":
		// It counts here again before it stops counting there: it is never nowhere.
		ps, to, err := s.write(r.Context(), x.o.c.ID, here, ps, nil)
		if to == refused || to == other || err != nil {
			return ps, to, err
		}
		return s.withdrawThere(r, x, body.OtherCase, to, func(l *casebook.Line) bool {
			in, ok := l.Entry.Body.(casebook.EntryCorrected)
			return ok && l.State == casebook.MovedIn && in.Original != nil && in.Original.ID == x.l.Entry.Corrects && in.OtherCase == x.o.c.ID
		})
	case ok && body.Action == "moved in" && body.Original != nil && ps.Err() == nil:
		ps, to, err := s.withdrawThere(r, x, body.OtherCase, kept, func(l *casebook.Line) bool {
			out, ok := l.Entry.Body.(casebook.EntryCorrected)
			return ok && l.State == casebook.Correction && out.Action == "moved out" && l.Entry.Corrects == body.Original.ID && out.OtherCase == x.o.c.ID
		})
		if to == refused || to == other || err != nil {
			return ps, to, err
		}
		return s.write(r.Context(), x.o.c.ID, here, nil, nil)
	}
	return s.write(r.Context(), x.o.c.ID, here, ps, nil)
}

// withdrawThere withdraws the lines of the other case that belong to a move which is undone here.
func (s *Server) withdrawThere(r *Request, x correction, otherCase string, to written, is func(*casebook.Line) bool) (intake.Problems, written, error) {
	c, _, _, err := s.Caseload.Case(r.Context(), otherCase, x.o.now)
	if err != nil || c == nil {
		return nil, to, err // the other case may be kept elsewhere
	}
	n := 0
	for i := range c.Log {
		if !is(&c.Log[i]) {
			continue
		}
		n++
		id, _ := entryID(x.key, n)
		e := s.corrects(r, id, otherCase, c.Log[i].Entry.ID, x.reason, casebook.EntryCorrected{Action: "withdraw"})
		if ps, did, err := s.write(r.Context(), otherCase, []draft{{entry: e, form: x.form}}, nil, nil); err != nil || did == refused || did == other {
			return ps, did, err
		}
	}
	return nil, to, nil
}
