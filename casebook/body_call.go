package casebook

import "time"

// CallTaken is a part of a telephone call about a pump or its alarm. A call is the set of the parts that name it, so that
// it can be led on two devices one after the other: of two parts that say different things the later one counts. A call
// without an Ended part is still open. Questions, checks and causes are named by their IDs in the model of package
// trouble; an ID that a later program does not know is shown as it is.
type CallTaken struct {
	// Call is the same in all parts of a call.
	Call string `json:"call" jsonschema:"required,minLength=1,maxLength=60" words:"Number of the call"`
	// Caller is who calls, Patient how the caller names the patient when no case is known.
	Caller  string `json:"caller,omitempty" jsonschema:"maxLength=120" words:"Who calls"`
	Phone   string `json:"phone,omitempty" jsonschema:"maxLength=40" words:"Telephone"`
	Patient string `json:"patient,omitempty" jsonschema:"maxLength=120" words:"Patient, as the caller says"`
	// OffSince is when therapy stopped, if it did; Therapy whether it runs at the time of this part.
	OffSince *time.Time   `json:"off_since,omitempty" words:"Therapy off since"`
	Therapy  string       `json:"therapy,omitempty" jsonschema:"enum=on,enum=off" words:"Therapy now"`
	Answers  []CallAnswer `json:"answers,omitempty" jsonschema:"maxItems=60" words:"Answers"`
	Checks   []CallCheck  `json:"checks,omitempty" jsonschema:"maxItems=60" words:"What was done"`
	// ComesWho and ComesAt are who will be with the patient, and when.
	ComesWho string     `json:"comes_who,omitempty" jsonschema:"maxLength=120" words:"Who comes"`
	ComesAt  *time.Time `json:"comes_at,omitempty" words:"Comes at"`
	Ended    string     `json:"ended,omitempty" jsonschema:"enum=settled,enum=somebody comes,enum=emergency help,enum=handed on,enum=broken off,enum=goes on in the case" words:"How the call ended"`
	// Found is the ID of the cause that was found.
	Found string `json:"found,omitempty" jsonschema:"maxLength=40" words:"What was found"`
	// GoesOn is the case in which a call goes on that began without one.
	GoesOn string `json:"goes_on,omitempty" jsonschema:"maxLength=60" words:"Goes on in case"`
	Note   string `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// CallAnswer is an answer to a question: an ID of the model, "yes" or "no" for a danger question (danger:blood), or "unknown".
type CallAnswer struct {
	Question string `json:"question" jsonschema:"required,minLength=1,maxLength=40" words:"Question"`
	Answer   string `json:"answer" jsonschema:"required,minLength=1,maxLength=40" words:"Answer"`
}

// CallCheck is what a check came to; "said" is for a step for the patient that was read out.
type CallCheck struct {
	Check  string `json:"check" jsonschema:"required,minLength=1,maxLength=40" words:"Check"`
	Result string `json:"result" jsonschema:"required,enum=fixed,enum=not fixed,enum=could not do,enum=said" words:"What it came to"`
}

// Kind returns the kind of the entry.
func (CallTaken) Kind() Kind { return KindCallTaken }

func foldCallTaken(f *Folding, l *Line, b CallTaken) {
	f.Calls = addCall(f.Calls, dated(l, b))
}

// CallsDesk is the register in which all calls without a case were kept together, before each had one of its own
// ([DeskCall]). [seal.Keys.SplitDesk] empties it.
const CallsDesk = "~calls"

// Call is what the parts of one call fold to.
type Call struct {
	ID string
	// Began and Last are the times of the first and the newest part; Author wrote the newest.
	Began, Last time.Time
	Author      string
	CallTaken
	// EndedAt is when a part first said that the call ended.
	EndedAt *time.Time
	// Entries are the parts, oldest first.
	Entries []string
}

// Answer is the newest answer to the question; empty when there is none.
func (c *Call) Answer(question string) string {
	for _, a := range c.Answers {
		if a.Question == question {
			return a.Answer
		}
	}
	return ""
}

// addCall adds a part; parts come in time order.
func addCall(list []Call, d Dated[CallTaken]) []Call {
	b := d.Body
	at := -1
	for i := range list {
		if list[i].ID == b.Call {
			at = i
		}
	}
	if at < 0 {
		list = append(list, Call{ID: b.Call, Began: d.At, CallTaken: CallTaken{Call: b.Call}})
		at = len(list) - 1
	}
	c := &list[at]
	c.Last, c.Author = d.At, d.Author
	c.Entries = append(c.Entries, d.ID)
	newer := func(to *string, from string) {
		if from != "" {
			*to = from
		}
	}
	newer(&c.Caller, b.Caller)
	newer(&c.Phone, b.Phone)
	newer(&c.Patient, b.Patient)
	newer(&c.Therapy, b.Therapy)
	newer(&c.ComesWho, b.ComesWho)
	newer(&c.Found, b.Found)
	newer(&c.GoesOn, b.GoesOn)
	if b.OffSince != nil {
		c.OffSince = b.OffSince
	}
	if b.ComesAt != nil {
		c.ComesAt = b.ComesAt
	}
	if b.Ended != "" {
		if c.Ended == "" {
			ended := d.At
			c.EndedAt = &ended
		}
		c.Ended = b.Ended
	}
	if b.Note != "" && c.Note != "" {
		b.Note = c.Note + "\n" + b.Note
	}
	newer(&c.Note, b.Note)
	for _, a := range b.Answers {
		c.answer(a)
	}
	for _, k := range b.Checks {
		c.checked(k)
	}
	return list
}

func (c *Call) answer(a CallAnswer) {
	for i := range c.Answers {
		if c.Answers[i].Question == a.Question {
			c.Answers[i].Answer = a.Answer
			return
		}
	}
	c.Answers = append(c.Answers, a)
}

// checked keeps the newest result of a check, at the place at which it was first done.
func (c *Call) checked(k CallCheck) {
	for i := range c.Checks {
		if c.Checks[i].Check == k.Check {
			c.Checks[i].Result = k.Result
			return
		}
	}
	c.Checks = append(c.Checks, k)
}

// FoldCalls folds the parts in entries of a register of the desk, which no case holds. Entries of other kinds are left
// out.
func FoldCalls(register string, entries []Entry) []Call {
	return FoldAt(register, entries, time.Time{}).Calls
}
