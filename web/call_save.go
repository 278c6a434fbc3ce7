package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// saveCall writes a part of a call about a case.
func (s *Server) saveCall(r *Request) (Answer, error) {
	a, err := openCaseCall(r)
	if err != nil {
		return nil, err
	}
	return s.savePart(r, a)
}

// saveDeskCall writes a part of a call that belongs to no case.
func (s *Server) saveDeskCall(r *Request) (Answer, error) {
	a, err := s.openDeskCall(r)
	if err != nil {
		return nil, err
	}
	return s.savePart(r, a)
}

// savePart reads what one of the forms of a call's page says. A call that has ended takes nothing more: a form that was
// open on another device is answered with how it ended.
func (s *Server) savePart(r *Request, a callAt) (Answer, error) {
	form, ps := r.form, r.broken
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		ps = intake.Join(ps, intake.Problems{keyProblem})
	}
	if a.call.Ended != "" && !slices.Contains(a.call.Entries, id) {
		return s.drawCall(r, http.StatusConflict, a, "The call was ended meanwhile, perhaps on another device. What you sent was not kept: write it as a note, or start another call.")
	}
	part := casebook.CallTaken{Call: a.id}
	problem := ""
	switch form.Get("do") {
	case "":
		problem = s.readStep(&part, a, form.Get("step"), form.Get("answer"))
	case "off":
		part.OffSince, problem = s.callTime(a, form.Get("off_since"), false)
		part.Therapy = "off"
		if part.OffSince == nil && problem == "" {
			problem = "Write since when therapy is off."
		}
	case "who":
		part.Caller, part.Phone = short(form.Get("caller"), 120), short(form.Get("phone"), 40)
		if part.Caller == "" && part.Phone == "" {
			problem = "Write who calls, or the telephone number."
		}
	case "comes":
		problem = s.readComes(&part, a, form)
		if part.ComesWho == "" && part.ComesAt == nil && problem == "" {
			problem = "Write who goes there, or when."
		}
	case "end":
		problem = s.readEnd(&part, a, form)
	case "link":
		return s.linkCall(r, a, id, form.Get("case"))
	default:
		problem = "That is not a form of this page. Nothing was kept."
	}
	if problem != "" {
		return s.drawCall(r, http.StatusUnprocessableEntity, a, problem)
	}
	return s.writePart(r, a, id, part, ps)
}

// readStep reads the answer to a step. Only questions and checks that the model has, with answers that they have, are
// taken.
func (s *Server) readStep(part *casebook.CallTaken, a callAt, step, answer string) (problem string) {
	const odd = "That answer does not belong to this step. Nothing was kept; answer again."
	m := s.Calls
	if m == nil {
		m = state.BuiltInCalls()
	}
	if step == page.CallOffStep {
		return s.readOff(part, answer)
	}
	if d, ok := strings.CutPrefix(step, "danger:"); ok {
		if m.Danger(d) == nil || !slices.Contains([]string{"yes", "no", "unknown"}, answer) {
			return odd
		}
		part.Answers = []casebook.CallAnswer{{Question: step, Answer: answer}}
		return ""
	}
	if g := m.Sign(step); g != nil && g.Ask != "" {
		if g.Answer(answer) < 0 && answer != "unknown" {
			return odd
		}
		part.Answers = []casebook.CallAnswer{{Question: step, Answer: answer}}
		return ""
	}
	care, isCare := state.CallCareOf(step)
	switch {
	case m.Check(step) != nil && slices.Contains([]string{"fixed", "not fixed", "could not do"}, answer):
		if answer == "fixed" {
			part.Therapy = "on"
		}
	case (isCare && m.Danger(care) != nil || step == "filler-out") && answer == "said":
	default:
		return odd
	}
	part.Checks = []casebook.CallCheck{{Check: step, Result: answer}}
	return ""
}

// readOff reads since when therapy is off: minutes ago, or a word.
func (s *Server) readOff(part *casebook.CallTaken, answer string) string {
	switch answer {
	case "runs":
		part.Therapy = "on"
	case "unknown":
		part.Checks = []casebook.CallCheck{{Check: page.CallOffStep, Result: "said"}}
	default:
		min, err := strconv.Atoi(answer)
		if err != nil || min < 0 || min > 24*60 {
			return "That is no answer to since when. Nothing was kept; answer again."
		}
		since := s.Now().Add(-time.Duration(min) * time.Minute).Truncate(time.Minute)
		part.OffSince, part.Therapy = &since, "off"
	}
	return ""
}

// callTime reads a moment; ahead allows one that is still to come.
func (s *Server) callTime(a callAt, text string, ahead bool) (*time.Time, string) {
	if strings.TrimSpace(text) == "" {
		return nil, ""
	}
	zone := s.Zone
	if a.o != nil {
		zone = a.o.c.Zone
	}
	t, p := intake.ReadClock(strings.TrimSpace(text), zone)
	if p != nil {
		return nil, p.Message + " " + p.Remedy
	}
	if away := t.Sub(s.Now()); away > 0 && !ahead || away.Abs() > 31*24*time.Hour {
		return nil, "That time is still to come, or too far away. Check date and time."
	}
	return &t, ""
}

func (s *Server) readComes(part *casebook.CallTaken, a callAt, form url.Values) (problem string) {
	part.ComesWho = short(form.Get("comes_who"), 120)
	part.ComesAt, problem = s.callTime(a, form.Get("comes_at"), true)
	return problem
}

// readEnd reads how a call ended. Danger questions cannot be skipped: without their answers a call can only have broken
// off, or gone to emergency help.
func (s *Server) readEnd(part *casebook.CallTaken, a callAt, form url.Values) string {
	if problem := s.readComes(part, a, form); problem != "" {
		return problem
	}
	part.Ended, part.Found, part.Therapy, part.Note = form.Get("ended"), form.Get("found"), form.Get("therapy"), strings.ToValidUTF8(form.Get("note"), "")
	m := s.Calls
	if m == nil {
		m = state.BuiltInCalls()
	}
	var known state.CallCase
	if a.o != nil {
		known = a.o.rev.CallCase(m)
	}
	now := state.CallStateOf(a.call, known, s.Rules.Values(s.Now()), s.Now())
	missing := []string{}
	for _, d := range m.Unasked(now) {
		missing = append(missing, d.Words)
	}
	yes, unknown := m.Stopped(now)
	switch {
	case !slices.Contains([]string{"settled", "somebody comes", "emergency help", "handed on", "broken off"}, part.Ended):
		return "Choose how the call ended."
	case part.Found != "" && m.Cause(part.Found) == nil, part.Therapy != "" && part.Therapy != "on" && part.Therapy != "off":
		return "That is no choice of this form. Choose again."
	case len(missing) > 0 && part.Ended != "broken off" && part.Ended != "emergency help":
		return "The danger questions come first and were not all asked: " + strings.Join(missing, ", ") + "."
	case part.Ended == "settled" && (yes || unknown):
		return "Blood or breathing was not answered with no: this call is not settled. Say who goes there, or that emergency help was called."
	case part.Ended == "settled" && part.Therapy == "":
		return "Settled: say whether therapy runs now."
	case part.Ended == "somebody comes" && (part.ComesWho == "" && a.call.ComesWho == "" || part.ComesAt == nil && a.call.ComesAt == nil):
		return "Somebody goes there: write who, and when."
	}
	return ""
}

// writePart writes one part and goes on with the call, or back to the case or the desk when it ended.
func (s *Server) writePart(r *Request, a callAt, id string, part casebook.CallTaken, ps intake.Problems) (Answer, error) {
	to := page.CallPath(a.caseID(), a.id)
	if a.o == nil {
		if ps.Err() != nil {
			return s.drawCall(r, http.StatusUnprocessableEntity, a, ps[0].Message+" "+ps[0].Remedy)
		}
		if err := s.writeDesk(r, s.entry(r, id, casebook.DeskCall(part.Call), s.Now(), part)); err != nil {
			return nil, err
		}
		if part.Ended != "" {
			to = "/call"
		}
		return goTo(to)
	}
	ps, was, err := s.write(r.Context(), a.o.c.ID, []draft{{entry: s.entry(r, id, a.o.c.ID, s.Now(), part)}}, ps, nil)
	switch {
	case err != nil:
		return nil, err
	case was == other:
		return nil, refuse(http.StatusConflict, "This step was answered before, in another way.", "Go back to the call: what was answered first counts. There you can change it.")
	case was == refused:
		problem := "Nothing was kept."
		if len(ps) > 0 {
			problem = ps[0].Message + " " + ps[0].Remedy
		}
		if a.call == nil {
			return nil, refuse(http.StatusUnprocessableEntity, problem, "Open the case and start the call again.")
		}
		return s.drawCall(r, http.StatusUnprocessableEntity, a, problem)
	case part.Ended != "":
		return goTo(page.CasePath(a.o.c.ID) + "?saved=" + id)
	default:
		return goTo(to)
	}
}

// writeDesk writes a part of a call into the register that the desk has for it; a form that is sent twice is kept once.
func (s *Server) writeDesk(r *Request, e casebook.Entry) error {
	call, _ := casebook.DeskCallOf(e.Case)
	desk := s.Caseload.DeskBook(call)
	for try := 0; ; try++ {
		known, head, err := desk.Entries(r.Context())
		if err != nil {
			return err
		}
		if already(known, []casebook.Entry{e}) != kept {
			return nil
		}
		_, err = desk.Append(r.Context(), head, e)
		if try < maxTries && errors.Is(err, casebook.ErrStale) {
			continue
		}
		return err
	}
}

// linkCall goes on with a desk's call in a case: everything said so far becomes an entry there, under the same number.
func (s *Server) linkCall(r *Request, a callAt, id, caseID string) (Answer, error) {
	if a.o != nil {
		return nil, errMissing
	}
	c, rev, _, err := s.Caseload.Case(r.Context(), caseID, s.Now())
	switch {
	case err != nil:
		return nil, err
	case c == nil:
		return nil, errMissing
	case !s.allowed(r, caseID, rev.Person):
		return nil, refuse(http.StatusForbidden, "This patient is not on your list.", "Open the case first and say why. Then come back to the call from the Call desk.")
	}
	whole := a.call.CallTaken
	whole.Call, whole.GoesOn, whole.Ended = a.id, "", ""
	inCase, _ := entryID(r.PostForm.Get("-key"), 1)
	ps, was, err := s.write(r.Context(), caseID, []draft{{entry: s.entry(r, inCase, caseID, s.Now(), whole)}}, nil, nil)
	if err == nil && was != refused && was != other {
		err = s.writeDesk(r, s.entry(r, id, casebook.DeskCall(a.id), s.Now(), casebook.CallTaken{Call: a.id, Ended: "goes on in the case", GoesOn: caseID}))
	}
	switch {
	case err != nil:
		return nil, err
	case was == refused && len(ps) > 0:
		return s.drawCall(r, http.StatusUnprocessableEntity, a, ps[0].Message+" "+ps[0].Remedy)
	default:
		return goTo(page.CallPath(caseID, a.id))
	}
}
