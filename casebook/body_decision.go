package casebook

import "time"

// DecisionMade is what was decided about the therapy when its course was talked over. It changes nothing by itself:
// a changed order, a stop and the end of therapy are entries of their own. Reasons and what is not certain are
// needed, so that no decision is kept without them.
type DecisionMade struct {
	Choice string `json:"choice" jsonschema:"required,enum=continue,enum=change the order,enum=step down,enum=stop" words:"What was decided"`
	// By is who decided; Entry.Author is who wrote it down.
	By string `json:"by" jsonschema:"required,minLength=1,maxLength=120" words:"Decided by"`
	// Wounds are those that it is about; empty means all of the case.
	Wounds []string `json:"wounds,omitempty" jsonschema:"maxItems=12" words:"Wounds"`
	// NextAt is when the next decision is due; for "continue" it is until when.
	NextAt  *time.Time `json:"next_at,omitempty" words:"Decide again by"`
	Reasons string     `json:"reasons" jsonschema:"required,minLength=3,maxLength=2000" words:"Reasons"`
	// Unsure is what was not known, or how sure the reasons are.
	Unsure string `json:"unsure" jsonschema:"required,minLength=3,maxLength=2000" words:"What is not certain"`
	// Wish is what the patient said about the therapy.
	Wish string `json:"wish,omitempty" jsonschema:"enum=to go on,enum=to stop,enum=something else,enum=not sure" words:"The patient wishes"`
	// Tried is what will be changed, or was tried, before therapy stops.
	Tried []string `json:"tried,omitempty" jsonschema:"maxItems=12" enum:"filler,pressure,seal,off-loading,infection,nutrition,debridement,blood supply" words:"What is changed first"`
	Next  string   `json:"next,omitempty" jsonschema:"maxLength=400" words:"What comes next"`
	Note  string   `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// Kind returns the kind of the entry.
func (DecisionMade) Kind() Kind { return KindDecisionMade }

func foldDecisionMade(f *Folding, l *Line, b DecisionMade) {
	add(&f.Decisions, l, b)
}
