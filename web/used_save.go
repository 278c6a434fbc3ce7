package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
)

// mostUsed bounds how many choices one confirmation is searched for.
const mostUsed = 20

// saveUsed writes into a visit what it used, as a correction of that visit: one confirmed step, once. A visit that says
// already what it used is left alone, so that nothing leaves the stock twice.
func (s *Server) saveUsed(r *Request) (Answer, error) {
	o := r.opened
	l, err := openLine(r)
	if err != nil {
		return nil, err
	}
	form := r.form
	visit, is := l.Now.(casebook.DressingChanged)
	switch {
	case !is || l.Entry.Author != s.author(r):
		return nil, refuse(http.StatusConflict, "This is no visit of yours that counts.", "Nothing was written. Correct the entry from the case's log instead.")
	case len(visit.Used) > 0:
		return nil, refuse(http.StatusConflict, "This visit says already what it used.", "Nothing was written again. Correct the visit from the case's log if it is wrong.")
	}
	visit.Used = chosenLots(form, s)
	if len(visit.Used) == 0 {
		return goTo("/bag#used")
	}
	raw, err := json.Marshal(visit)
	if err != nil {
		return nil, err
	}
	e := s.corrects(r, shapedID(s.Now(), l.Entry.ID+"|used"), o.c.ID, l.Entry.ID, "what the visit used, confirmed from the bag's page", casebook.EntryCorrected{Action: "replace", Body: raw})
	ps, to, err := s.write(r.Context(), o.c.ID, []draft{{entry: e, form: url.Values{}}}, nil, func(known []casebook.Entry) intake.Problems {
		// Somebody may have said it meanwhile.
		now := casebook.Fold(o.c.ID, known).Line(l.Entry.ID)
		if d, ok := now.Now.(casebook.DressingChanged); !ok || len(d.Used) > 0 {
			return intake.Problems{{Code: intake.CodeCorrection, Message: "Somebody changed this visit meanwhile.", Remedy: "Open the bag again."}}
		}
		return nil
	})
	switch {
	case err != nil:
		return nil, err
	case to == refused:
		words := "Open the bag again."
		if len(ps) > 0 {
			words = ps[0].Message + " " + ps[0].Remedy
		}
		return nil, refuse(http.StatusConflict, "Nothing was written.", words)
	default:
		return goTo("/bag#used")
	}
}

func chosenLots(form url.Values, s *Server) []casebook.SupplyUsed {
	var out []casebook.SupplyUsed
	for i := range mostUsed {
		if u, ok := page.ReadLot(form.Get(page.UsedField+"/"+strconv.Itoa(i)), s.Equipment); ok && u.Count >= 1 && u.Count <= 60 {
			if _, err := time.Parse(time.DateOnly, u.Expires); err != nil {
				u.Expires = ""
			}
			out = append(out, u)
		}
	}
	return out
}
