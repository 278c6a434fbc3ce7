package web

import (
	"net/http"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/web/page"
)

// showPumpLog shows what the pump's logs of the case tell, and the form that imports another one.
func (s *Server) showPumpLog(r *Request) (Answer, error) {
	o := r.opened
	return s.renderPumpLog(r, o, http.StatusOK, page.PumpLogImport{})
}

// renderPumpLog answers with the page; a form without a good key gets a new one.
func (s *Server) renderPumpLog(r *Request, o opened, status int, in page.PumpLogImport) (Answer, error) {
	in.Action, in.Look = page.CasePath(o.c.ID, "pump-log", "import"), page.CasePath(o.c.ID, "pump-log", "look")
	if _, ok := entryID(in.Key, 0); !ok {
		key, err := s.newFormKey(o.now)
		if err != nil {
			return nil, err
		}
		in.Key = key
	}
	for _, u := range state.OpenPumps(o.c) {
		in.Pumps = append(in.Pumps, u.Assigned.Body.Pump)
	}
	if n := len(in.Pumps); in.Pump == "" && n > 0 {
		in.Pump = in.Pumps[n-1]
	}
	f := s.caseFrame(r, o, "Pump log")
	f.Said = page.SavedWords(o.c, r.URL.Query().Get("saved"))
	return show(status, page.PumpLog(page.NewPumpLog(f, o.c, o.rev.State.Logs, o.rev.State.Values, o.clock, mayWrite(r.who, casebook.KindLogImported), in)))
}
