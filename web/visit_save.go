package web

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// saveVisit writes the change of dressing and the measurements made with it, all or none.
func (s *Server) saveVisit(r *Request) (Answer, error) {
	o := r.opened
	form, ps := r.form, r.broken
	in, err := s.formInput(o, form, nil)
	if err != nil {
		return nil, err
	}
	if in.Lots, err = s.Caseload.Lots(r.Context(), s.author(r), o.c.ID, o.now); err != nil {
		return nil, err
	}
	draw := func(status int) (Answer, error) {
		return show(status, page.Form(page.NewVisit(s.caseFrame(r, o, "Visit"), in)))
	}
	if in.More != "" {
		return draw(http.StatusOK)
	}
	key := form.Get("-key")
	id, ok := entryID(key, 0)
	if !ok {
		ps = append(ps, keyProblem)
	}
	at, atPs := readAt(form, "at", "When this visit was", o.c.Zone)
	body, found := readVisit(page.WithSame(page.WithTicked(form, s.Equipment), o.c), o.c)
	drafts := []draft{{entry: s.entry(r, id, o.c.ID, at, body), form: form}}
	more, morePs := s.readMeasures(r, form, o.c, at, key)
	var to written
	ps, to, err = s.write(r.Context(), o.c.ID, append(drafts, more...), intake.Join(ps, found, morePs, atPs, settledPs(body, "")), nil)
	a, err := afterWrite(o.c.ID, id, to, err, func() (Answer, error) {
		in.Problems = ps
		return draw(http.StatusUnprocessableEntity)
	})
	if _, done := a.(sent); done && form.Get("-then") == "sign" {
		return goTo(page.CasePath(o.c.ID, "sign") + "?saved=" + id)
	}
	return a, err
}

// readVisit reads the change of dressing. The size of the canister that was there before is not written again.
func readVisit(form url.Values, c *casebook.Case) (casebook.Body, intake.Problems) {
	body, ps := intake.ReadForm(casebook.KindDressingChanged, form, c.Zone)
	d, ok := body.(casebook.DressingChanged)
	if !ok {
		return body, ps
	}
	if d.Canister != nil && d.Canister.SizeML != nil {
		can := state.CanisterOf(c)
		if d.Canister.Pump != "" {
			can = state.CanisterOn(c, d.Canister.Pump)
		}
		if now := can.SizeML; now != nil && *now == *d.Canister.SizeML {
			k := *d.Canister
			k.SizeML = nil
			d.Canister = &k
		}
	}
	for i := range ps {
		if ps[i].Pointer == "wounds" && len(d.Wounds) == 0 {
			ps[i].Message = "Nothing is written about any wound."
			ps[i].Remedy = "Write what came out and what went in. If no dressing was changed, leave this page and write a note, a canister reading or a measurement instead."
		}
	}
	return d, ps
}

// readMeasures reads the measurements in which something was filled in.
func (s *Server) readMeasures(r *Request, form url.Values, c *casebook.Case, at time.Time, key string) (drafts []draft, ps intake.Problems) {
	for i := range rowLimit {
		prefix := page.MeasurePrefix(i)
		sub := intake.SubForm(form, prefix)
		if !typed(sub) {
			continue
		}
		body, found := intake.ReadForm(casebook.KindWoundMeasured, sub, c.Zone)
		for _, p := range found {
			p.Pointer = prefix + p.Pointer
			ps = append(ps, p)
		}
		id, _ := entryID(key, 1+i)
		drafts = append(drafts, draft{entry: s.entry(r, id, c.ID, at, body), prefix: prefix, form: sub})
	}
	return drafts, ps
}

// rowLimit bounds how many wounds a visit is searched for.
const rowLimit = 60

// typed tells whether anything but presets was filled in.
func typed(form url.Values) bool {
	for name, values := range form {
		if !strings.HasSuffix(name, "?") && strings.TrimSpace(strings.Join(values, "")) != "" {
			return true
		}
	}
	return false
}
