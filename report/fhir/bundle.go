package fhir

import (
	"crypto/sha1"
	"fmt"
	"sort"
	"strings"
	"time"

	"github.com/google/uuid"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/rule"
)

// Input is what a Bundle is made of.
type Input struct {
	Review *review.Review
	// Papers are documents to put in, such as the progress report; nil is none.
	Papers []Paper
	// Photo returns a photo by its SHA-256, or nil when it is not to go along.
	Photo func(sha256 string) []byte
}

// Paper is a document of the case.
type Paper struct {
	Title string
	Type  string // such as "progress report"
	MIME  string
	Bytes []byte
}

// Bundle writes the case and its review as a FHIR R4 Bundle of type collection. Equal inputs give equal bytes.
func Bundle(in Input) ([]byte, error) {
	b, err := build(in)
	if err != nil {
		return nil, err
	}
	return encode(b)
}

// build makes the Bundle's resources.
func build(in Input) (*bundle, error) {
	m := &maker{in: in, patientID: uuidOf("case", in.Review.Case), author: map[author][]reference{}, of: map[string]reference{}}
	m.program()
	if err := m.entries(); err != nil {
		return nil, err
	}
	m.plan()
	m.findings()
	m.suction()
	m.figures()
	m.forecasts()
	m.papers()
	m.provenances()
	out := &bundle{head: head{ResourceType: "Bundle", ID: uuidOf("bundle", in.Review.Case, in.Review.Hash())}, Type: "collection",
		Identifier: &identifier{System: systemOwn + "review", Value: in.Review.Hash()}, Timestamp: instant(in.Review.AsOf)}
	for _, r := range m.resources {
		_, id := r.kind()
		out.Entry = append(out.Entry, bundleEntry{FullURL: "urn:uuid:" + id, Resource: r})
	}
	return out, nil
}

type resource interface{ kind() (string, string) }

// maker collects the resources of one Bundle.
type maker struct {
	in        Input
	patientID string
	resources []resource
	// of is where an entry is shown, by its ID; author lists what each author wrote.
	of     map[string]reference
	author map[author][]reference
}

// namespace is that of all derived IDs (RFC 9562, version 5).
var namespace = uuid.NewSHA1(uuid.NameSpaceURL, []byte(systemOwn))

func uuidOf(parts ...string) string {
	h := sha1.New()
	for _, p := range parts {
		h.Write([]byte{byte(len(p) >> 8), byte(len(p))})
		h.Write([]byte(p))
	}
	return uuid.NewSHA1(namespace, h.Sum(nil)).String()
}

func urn(id string) string { return "urn:uuid:" + id }

func (m *maker) add(r resource) reference {
	m.resources = append(m.resources, r)
	_, id := r.kind()
	return reference{Reference: urn(id)}
}

func (m *maker) subject() reference   { return reference{Reference: urn(m.patientID)} }
func (m *maker) subjectP() *reference { s := m.subject(); return &s }

// dateTime and instant print a time for FHIR: with an offset, and no year outside of four digits.
func dateTime(t time.Time) string { return t.Format(time.RFC3339Nano) }
func instant(t time.Time) string  { return t.UTC().Format("2006-01-02T15:04:05.000Z") }

func text(s string) *concept { return &concept{Text: s} }

func (m *maker) programID() string { return uuidOf("program", m.in.Review.Program) }

// program is the Device that made the Bundle.
func (m *maker) program() {
	m.add(device{head: head{ResourceType: "Device", ID: m.programID()}, DeviceName: []deviceName{{Name: "Lowtide", Type: "user-friendly-name"}},
		Type: text("software that reviews negative-pressure wound therapy; it advises and controls no pump"), Version: []version{{Value: m.in.Review.Program}}})
}

// plan is the CarePlan: what is ordered, when the next visit is, and what the therapy is for.
func (m *maker) plan() {
	t := m.in.Review.Therapy
	status := map[string]string{"open": "active", "ended": "completed"}[t.State]
	if status == "" {
		status = "draft"
	}
	p := carePlan{head: head{ResourceType: "CarePlan", ID: uuidOf("plan", m.in.Review.Case)}, Status: status, Intent: "plan",
		Title: "Negative-pressure wound therapy", Subject: m.subject()}
	if t.StartedAt != nil {
		p.Period = &period{Start: dateTime(*t.StartedAt)}
		if t.EndedAt != nil {
			p.Period.End = dateTime(*t.EndedAt)
		}
	}
	for i := range m.in.Review.State.WoundRecords() {
		if w := m.in.Review.State.WoundRecords()[i]; w.Found != nil {
			p.Addresses = append(p.Addresses, reference{Reference: urn(m.conditionID(w.Name))})
		}
	}
	if o := m.in.Review.State.Order(); o != nil {
		p.Description = o.Body.Goal
		p.Activity = append(p.Activity, activity{Reference: &reference{Reference: urn(uuidOf("order", o.ID))}})
	}
	p.Activity = append(p.Activity, m.steps()...)
	if t.NextVisit != nil {
		p.Activity = append(p.Activity, activity{Detail: &activityDetail{Kind: "Appointment", Status: "scheduled",
			ScheduledPeriod: &period{Start: dateTime(*t.NextVisit)}, Description: "Next visit"}})
	}
	m.add(p)
}

// steps are what the plan asks for, in its order: each sentence with its level, what waits beside it, and when it is due.
func (m *maker) steps() []activity {
	var out []activity
	for _, s := range m.in.Review.Plan {
		d := activityDetail{Kind: "Task", Status: "not-started", Description: strings.Join(append([]string{string(s.Level) + ": " + s.Do}, s.Waits...), " ")}
		for _, act := range s.Acts {
			d.Code = codedAct(d.Code, act)
		}
		if s.Due != nil {
			d.ScheduledPeriod = &period{End: dateTime(*s.Due)}
		}
		out = append(out, activity{Detail: &d})
	}
	return out
}

func codedAct(c *concept, act string) *concept {
	if c == nil {
		c = &concept{}
	}
	c.Coding = append(c.Coding, coding{System: systemAct, Code: act})
	return c
}

// suction is what suction is doing, as far as the record tells.
func (m *maker) suction() {
	t := m.in.Review.Therapy
	at := m.in.Review.AsOf
	o := observation{head: head{ResourceType: "Observation", ID: uuidOf("suction", m.in.Review.Case)}, Status: "preliminary",
		Code:    concept{Coding: []coding{{System: systemFigure, Code: "therapy.suction"}}, Text: "What suction is doing, by the record"},
		Subject: m.subjectP(), EffectiveDateTime: dateTime(at), ValueString: string(t.Suction), Method: text("every entry that says anything of it")}
	for _, note := range []string{t.Why} {
		if note != "" {
			o.Note = append(o.Note, annotation{Text: note})
		}
	}
	if t.Since != nil {
		o.Note = append(o.Note, annotation{Text: "Since " + dateTime(*t.Since)})
	}
	if t.BelievedUntil != nil {
		o.Note = append(o.Note, annotation{Text: "Believed until " + dateTime(*t.BelievedUntil) + " if nobody looks"})
	}
	m.add(o)
}

// severity is that of a DetectedIssue. The level's own word goes along, because three words cannot say four.
var severity = map[rule.Level]string{rule.ActNow: "high", rule.Today: "moderate", rule.Plan: "low", rule.Note: "low"}

func (m *maker) findings() {
	for _, f := range m.in.Review.Findings {
		d := detectedIssue{head: head{ResourceType: "DetectedIssue", ID: uuidOf("finding", m.in.Review.Case, f.Rule, f.Wound+f.Pump)}, Status: "preliminary",
			Code:     &concept{Coding: []coding{{System: systemRule, Code: f.Rule}}, Text: string(f.Level)},
			Severity: severity[f.Level], Patient: m.subjectP(), IdentifiedDateTime: dateTime(m.in.Review.AsOf),
			Author: &reference{Reference: urn(m.programID())}, Detail: f.Headline,
			Mitigation: []mitigation{{Action: concept{Text: f.Do}}}}
		if why := m.refs(entriesOf(f)); why != nil {
			d.Evidence = []issueEvidence{{Detail: why}}
		}
		m.add(d)
	}
}

func entriesOf(f review.Finding) []string {
	seen := map[string]bool{}
	var out []string
	for _, w := range f.Why {
		for _, id := range w.Entries {
			if !seen[id] {
				seen[id] = true
				out = append(out, id)
			}
		}
	}
	return out
}

func (m *maker) refs(ids []string) []reference {
	var out []reference
	for _, id := range ids {
		if r, ok := m.of[id]; ok {
			out = append(out, r)
		}
	}
	return out
}

// figures and forecasts are Observations with codes of our own: no published code says "by this model".
func (m *maker) figures() {
	for _, g := range m.in.Review.Figures() {
		at := m.in.Review.AsOf
		if g.At != nil {
			at = *g.At
		}
		o := observation{head: head{ResourceType: "Observation", ID: uuidOf("figure", m.in.Review.Case, g.ID, g.Wound+g.Pump)}, Status: "final",
			Code:    concept{Coding: []coding{{System: systemFigure, Code: g.ID}}, Text: g.Name},
			Subject: m.subjectP(), EffectiveDateTime: dateTime(at), ValueQuantity: quantityOf(number(g.Value), g.Unit),
			Method: text(g.Method), DerivedFrom: m.refs(g.Entries), Note: []annotation{{Text: "Source: " + g.Source}}}
		m.focus(&o, g.Wound)
		m.add(o)
	}
}

func (m *maker) forecasts() {
	for _, f := range m.in.Review.Forecasts() {
		o := observation{head: head{ResourceType: "Observation", ID: uuidOf("forecast", m.in.Review.Case, f.ID, f.Wound+f.Pump)}, Status: "preliminary",
			Code:    concept{Coding: []coding{{System: systemFigure, Code: "forecast." + f.ID}}, Text: f.Name},
			Subject: m.subjectP(), EffectiveDateTime: dateTime(m.in.Review.AsOf), ValueString: f.Text,
			Method: text("forecast by model " + f.Model), DerivedFrom: m.refs(f.Entries)}
		for _, part := range []struct {
			code, words string
			value       *float64
		}{{"median", "Median", f.Median}, {"low", "Low end of the 80 % interval", f.Low}, {"high", "High end of the 80 % interval", f.High}} {
			if part.value != nil {
				o.Component = append(o.Component, component{Code: concept{Coding: []coding{{System: systemFigure, Code: part.code}}, Text: part.words},
					ValueQuantity: quantityOf(number(*part.value), f.Unit)})
			}
		}
		m.focus(&o, f.Wound)
		m.add(o)
	}
}

func (m *maker) focus(o *observation, wound string) {
	if w := m.in.Review.State.WoundRecord(wound); w != nil && w.Found != nil {
		o.Focus = append(o.Focus, reference{Reference: urn(m.conditionID(wound))})
	}
}

func (m *maker) papers() {
	for _, p := range m.in.Papers {
		sum := sha1.Sum(p.Bytes)
		m.add(documentReference{head: head{ResourceType: "DocumentReference", ID: uuidOf("paper", m.in.Review.Case, p.Type, p.Title)}, Status: "current",
			Type: text(p.Type), Subject: m.subjectP(), Date: instant(m.in.Review.AsOf), Description: p.Title,
			Content: []documentContent{{Attachment: attachment{ContentType: p.MIME, Data: p.Bytes, Size: len(p.Bytes), Hash: sum[:], Title: p.Title}}}})
	}
}

// author is who wrote entries, as far as it is known: came is zero for what was written here.
type author struct {
	name string
	came casebook.Came
}

func participant(code string, who reference) agent {
	return agent{Type: &concept{Coding: []coding{{System: "http://terminology.hl7.org/CodeSystem/provenance-participant-type", Code: code}}}, Who: who}
}

// provenances says who wrote what. What came by file is claimed to be by its author, was entered by who brought the
// file, and is attested by who took it over, if anybody did.
func (m *maker) provenances() {
	who := make([]author, 0, len(m.author))
	for a := range m.author {
		who = append(who, a)
	}
	sort.Slice(who, func(i, j int) bool {
		a, b := who[i], who[j]
		return fmt.Sprint(a.name, a.came.File, a.came.By, a.came.At.UnixNano(), a.came.TakenBy, a.came.TakenAt.UnixNano()) < fmt.Sprint(b.name, b.came.File, b.came.By, b.came.At.UnixNano(), b.came.TakenBy, b.came.TakenAt.UnixNano())
	})
	for _, a := range who {
		p := provenance{head: head{ResourceType: "Provenance", ID: uuidOf("author", m.in.Review.Case, a.name)}, Target: m.author[a], Recorded: instant(m.in.Review.AsOf),
			Agent: []agent{participant("author", reference{Display: a.name})}}
		if a.came.File != "" || a.came.By != "" {
			p.ID = uuidOf("author", m.in.Review.Case, a.name, a.came.File, a.came.By, a.came.At.String(), a.came.TakenBy, a.came.TakenAt.String())
			p.Activity = &concept{Text: "came by file " + a.came.File + " at " + instant(a.came.At)}
			p.Agent[0].Who.Display += " (claimed by the file " + a.came.File + ")"
			p.Agent = append(p.Agent, participant("enterer", reference{Display: a.came.By}))
			if a.came.TakenBy != "" {
				p.Agent = append(p.Agent, participant("attester", reference{Display: a.came.TakenBy}))
			}
		}
		p.Agent = append(p.Agent, participant("assembler", reference{Reference: urn(m.programID())}))
		m.add(p)
	}
}
