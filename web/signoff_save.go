package web

import (
	"fmt"
	"net/http"
	"net/url"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/state"
	"lowtide/stock"
)

// signWithin is how old a review may be when it is signed: what was read an hour ago is read again.
const signWithin = time.Hour

// saveSignOff signs the review that was shown. The review is made again from what the case holds now, as of the
// moment that was shown: if it differs, something changed meanwhile, nothing is signed and the new review is shown.
func (s *Server) saveSignOff(r *Request) (Answer, error) {
	form, ps := r.form, r.broken
	o, err := s.openCase(r, s.Now().Truncate(time.Second))
	if err != nil {
		return nil, err
	}
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		ps = append(ps, keyProblem)
	}
	shown, asOfPs := s.shownAsOf(form)
	ps = intake.Join(ps, asOfPs)
	read := url.Values{}
	for _, name := range []string{"hash", "as_of", "purpose", "note"} {
		read[name] = form[name]
	}
	recalls, err := s.Caseload.Recalls(r.Context())
	if err != nil {
		return nil, err
	}
	var signed *review.Review
	if asOfPs == nil {
		signed = review.Of(state.Of(o.c, s.Rules, s.Equipment, recalls, shown), s.Rules)
		read.Set("rules", signed.Rules)
		read.Set("program", signed.Program)
		for _, f := range signed.Findings[:min(len(signed.Findings), maxOpen)] {
			read.Add("open", f.Key())
		}
	}
	body, found := intake.ReadForm(casebook.KindReviewSigned, read, o.c.Zone)
	if asOfPs == nil {
		ps = intake.Join(ps, found)
	}
	judge := func(known []casebook.Entry) intake.Problems { return s.judgeSignOff(o.c.ID, known, recalls, body) }
	if asOfPs != nil {
		judge = nil
	}
	ps, to, err := s.write(r.Context(), o.c.ID, []draft{{entry: s.entry(r, id, o.c.ID, o.now, body), form: read}}, ps, judge)
	return afterWrite(o.c.ID, id, to, err, func() (Answer, error) {
		status := http.StatusUnprocessableEntity
		for _, p := range ps {
			if p.Code == codeChanged {
				status = http.StatusConflict
			}
		}
		// The case may have moved on since it was read above.
		again, err := s.openCase(r, s.Now().Truncate(time.Second))
		if err != nil {
			return nil, err
		}
		return s.showSignOff(r, status, again, form, ps)
	})
}

const (
	// maxOpen is how many findings a sign-off lists.
	maxOpen = 400
	// codeChanged and codeOpenCount are the reasons for which a sign-off is refused.
	codeChanged   intake.Code = "review_changed"
	codeOpenCount intake.Code = "count_open"
)

// shownAsOf reads the moment of the review that was shown.
func (s *Server) shownAsOf(form url.Values) (time.Time, intake.Problems) {
	at, err := time.Parse(time.RFC3339Nano, form.Get("as_of"))
	if err != nil {
		return at, intake.Problems{{Pointer: "hash", Code: codeChanged, Message: "The form does not say which review was read.", Remedy: "Read the review below and sign it."}}
	}
	if old := s.Now().Sub(at); old > signWithin || old < -time.Minute {
		return at, intake.Problems{{Pointer: "hash", Code: codeChanged, Message: "The review that you read is more than an hour old.", Remedy: "This is the review of now. Read it and sign again."}}
	}
	return at, nil
}

// judgeSignOff makes the review again and compares.
func (s *Server) judgeSignOff(caseID string, known []casebook.Entry, recalls *stock.Stock, body casebook.Body) intake.Problems {
	b, ok := body.(casebook.ReviewSigned)
	if !ok {
		return nil
	}
	c := casebook.Fold(caseID, known)
	rev := review.Of(state.Of(c, s.Rules, s.Equipment, recalls, b.AsOf), s.Rules)
	var ps intake.Problems
	if b.Hash != "" && (rev.Hash() != b.Hash || laterEntry(known, b.AsOf, s.Now())) {
		ps = append(ps, intake.Problem{Pointer: "hash", Code: codeChanged, Message: "Something changed after you opened the review: it is not the one that you read.", Remedy: "Nothing was signed. This is the new review: read it and sign again."})
	}
	if b.Purpose == "handover" || b.Purpose == "end of therapy" {
		// An entry of this very moment counts too.
		if rev.Therapy.CountOpen || review.Of(state.Of(c, s.Rules, s.Equipment, nil, s.Now()), s.Rules).Therapy.CountOpen {
			ps = append(ps, intake.Problem{Pointer: "purpose", Code: codeOpenCount, Value: b.Purpose, Message: fmt.Sprintf("The filler count is open, so %s cannot be signed.", map[string]string{"handover": "a handover", "end of therapy": "the end of therapy"}[b.Purpose]), Remedy: "Account for every piece first. A visit can be signed."})
		}
	}
	return ps
}

// laterEntry tells whether something has happened between the moment of the review and now: a review as of then does
// not show it.
func laterEntry(known []casebook.Entry, asOf, now time.Time) bool {
	for _, e := range known {
		if e.At.After(asOf) && !e.At.After(now) {
			return true
		}
	}
	return false
}
