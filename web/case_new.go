package web

import (
	"context"
	"net/http"
	"net/url"
	"time"

	"lowtide/web/page"
)

// newCase shows the form that starts a case: the patient and the first wound.
func (s *Server) newCase(r *Request) (Answer, error) {
	now := s.Now()
	zone := s.usualZone(r, now)
	form := url.Values{}
	form.Set("at", page.LocalValue(now.Truncate(time.Minute), zone))
	form.Set("person/zone", zone.String())
	form.Set("wound/wound", "A")
	if v := r.who; v != nil && s.Accounts != nil {
		// Whose list the case is on follows from these two.
		form.Set("person/nurse", v.account.Shown)
		if len(v.account.Teams) == 1 {
			form.Set("person/team", v.account.Teams[0])
		}
	}
	in, err := s.caseInput(form, now, zone)
	if err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.Form(page.NewCaseForm(s.frame(r, "New case", ""), in)))
}

// caseInput is what the form of a new case is drawn from.
func (s *Server) caseInput(form url.Values, now time.Time, zone *time.Location) (page.FormInput, error) {
	in := page.FormInput{Typed: page.Typed{Values: form, More: form.Get("-more")}, Equipment: s.Equipment, Clock: page.Clock{Zone: zone, Now: now}, Key: form.Get("-key")}
	if _, ok := entryID(in.Key, 0); !ok {
		key, err := s.newFormKey(now)
		if err != nil {
			return in, err
		}
		in.Key = key
	}
	return in, nil
}

// usualZone is the zone of most patients, or that of the server when there is none yet. A server that only knows
// its zone as "local" has no name to offer: then it is UTC, and the nurse sees that.
func (s *Server) usualZone(r *Request, now time.Time) *time.Location {
	most, best := "", 0
	ctx, cancel := context.WithTimeout(r.Context(), callReading)
	defer cancel()
	if rows, _, err := s.Caseload.Glance(ctx, now); err == nil {
		count := map[string]int{}
		for _, row := range rows {
			z := row.Person.Zone
			if count[z]++; count[z] > best || count[z] == best && z < most {
				most, best = z, count[z]
			}
		}
	}
	if zone, err := time.LoadLocation(most); err == nil && most != "" {
		return zone
	}
	if s.Zone != nil && s.Zone != time.Local {
		return s.Zone
	}
	return time.UTC
}
