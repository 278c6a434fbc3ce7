package wording

import (
	"strings"

	"lowtide/casebook"
	"lowtide/state"
)

// call says a part of a call. Its title is the most that happened in it.
func (s *sayer) call(b casebook.CallTaken) {
	switch {
	case b.Ended != "":
		s.Title = "Call ended: " + b.Ended
	case len(b.Checks) > 0:
		x := b.Checks[len(b.Checks)-1]
		s.Title = "Call: " + state.CallCheckWords(x.Check) + ", " + x.Result
	case len(b.Answers) == 1:
		words, value := state.CallQuestion(b.Answers[0].Question, b.Answers[0].Answer)
		s.Title = "Call: " + words + ": " + value
	case b.ComesWho != "" || b.ComesAt != nil:
		s.Title = "Call: somebody comes"
	case b.Caller != "":
		s.Title = "Call from " + b.Caller
	default:
		s.Title = "Call"
	}
	s.put("What was found", foundWords(b.Found))
	s.put("Who calls", b.Caller)
	s.put("Telephone", b.Phone)
	s.put("Patient, as the caller says", b.Patient)
	s.time("Therapy off since", b.OffSince)
	s.put("Therapy now", b.Therapy)
	for _, a := range b.Answers {
		words, value := state.CallQuestion(a.Question, a.Answer)
		s.put(Sentence(words), value)
	}
	var done []string
	for _, x := range b.Checks {
		done = append(done, state.CallCheckWords(x.Check)+": "+x.Result)
	}
	s.put("What was done", strings.Join(done, "; "))
	s.put("Who comes", b.ComesWho)
	s.time("Comes at", b.ComesAt)
	s.put("Goes on in case", b.GoesOn)
	s.put("Note", b.Note)
	s.put("Number of the call", b.Call)
}

func foundWords(id string) string {
	if id == "" {
		return ""
	}
	return state.CallCause(id)
}
