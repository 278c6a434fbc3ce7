package web

import (
	"net/http"
	"net/url"
	"strings"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/web/page"
)

// maxBenchAddress bounds the address of the Bench: its fields are few and short.
const maxBenchAddress = 4096

// showBench tries programs on a path that belongs to no patient.
func (s *Server) showBench(r *Request) (Answer, error) {
	in := state.BenchInput{}
	in.Setup, _ = state.BenchStart("portable")
	in.A = state.BenchProgram{state.BenchStage(125, 60)}
	return s.bench(r, in, page.BenchPage{Frame: s.frame(r, "Bench", "Bench")})
}

// showCaseBench starts from what the case knows, and can hand a program on as a draft of an order.
func (s *Server) showCaseBench(r *Request) (Answer, error) {
	o := r.opened
	in, known := state.BenchOf(o.c, s.Equipment)
	if len(in.A) == 0 {
		in.A = state.BenchProgram{state.BenchStage(125, 60)}
	}
	p := page.BenchPage{Frame: s.caseFrame(r, o, "Bench"), Action: page.CasePath(o.c.ID, "bench"), CaseHref: page.CasePath(o.c.ID),
		Known: "Taken from the case: " + strings.Join(known, ", ") + ". Everything else is the usual of the class of pump."}
	if len(known) == 0 {
		p.Known = "The case tells nothing that the Bench could start from: all numbers are the usual of a portable pump."
	}
	if mayWrite(r.who, casebook.KindOrderWritten) {
		p.Keep = page.CasePath(o.c.ID, "add", string(casebook.KindOrderWritten))
	}
	return s.bench(r, in, p)
}

// bench answers with the whole page, or with the part that is drawn again. A form with something to mend is answered
// as such and shown again as it was typed.
func (s *Server) bench(r *Request, start state.BenchInput, p page.BenchPage) (Answer, error) {
	if len(r.URL.RawQuery) > maxBenchAddress {
		return nil, refuse(http.StatusRequestURITooLong, "That is more than this page takes.", "Open the Bench again.")
	}
	q := r.URL.Query()
	part := q.Get("part") == "result"
	q.Del("part")
	f := page.ReadBench(q, start)
	status := http.StatusOK
	if len(f.Problems) > 0 {
		status = http.StatusUnprocessableEntity
	}
	whole := page.NewBench(p.Frame, f, s.Equipment)
	if p.Action != "" {
		whole.Action = p.Action
	}
	whole.Keep, whole.CaseHref, whole.Known = p.Keep, p.CaseHref, p.Known
	if part {
		return show(status, page.BenchPart(f.Problems, whole.Result))
	}
	return show(status, page.Bench(whole))
}

// draftStages takes from the address what the Bench hands on to the form of an order.
func draftStages(r *Request, kind casebook.Kind) url.Values {
	if kind != casebook.KindOrderWritten || len(r.URL.RawQuery) > maxBenchAddress {
		return nil
	}
	return page.BenchDraft(r.URL.Query())
}

// draftWords stand over the form of an order that starts from the Bench.
const draftWords = "A draft from the Bench. Nothing is ordered yet: the prescriber confirms it, and whoever writes the order saves it."
