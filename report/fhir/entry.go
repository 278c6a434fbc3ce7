package fhir

import (
	"encoding/json"
	"strconv"
	"strings"

	"lowtide/casebook"
)

const (
	systemEntry   = systemOwn + "entry"
	clinicalState = "http://terminology.hl7.org/CodeSystem/condition-clinical"
)

func entryIdentifier(id string) []identifier { return []identifier{{System: systemEntry, Value: id}} }

func (m *maker) conditionID(wound string) string { return uuidOf("wound", m.in.Review.Case, wound) }

// entries shows every entry that counts. The natural resource of its kind takes what it has an element for; an
// Observation of the entry takes the rest, so that nothing is lost.
func (m *maker) entries() error {
	m.patient()
	for i := range m.in.Review.State.Log() {
		l := &m.in.Review.State.Log()[i]
		if l.Now == nil || l.Now.Kind() == casebook.KindEntryCorrected {
			continue
		}
		if err := m.entry(l); err != nil {
			return err
		}
	}
	return nil
}

// shown collects what the natural resource of an entry already says.
type shown struct {
	natural *reference
	paths   map[string]bool
}

func (s *shown) has(paths ...string) {
	for _, p := range paths {
		s.paths[p] = true
	}
}

func (m *maker) entry(l *casebook.Line) error {
	id := l.Entry.ID
	s := &shown{paths: map[string]bool{}}
	o := observation{head: head{ResourceType: "Observation", ID: id}, Identifier: entryIdentifier(id), Status: "final",
		Code:    concept{Coding: []coding{{System: systemKind, Code: string(l.Now.Kind())}}, Text: string(l.Now.Kind())},
		Subject: m.subjectP(), EffectiveDateTime: dateTime(l.At), Issued: instant(l.Entry.Recorded)}
	if l.State == casebook.Replaced {
		o.Status = "amended"
	}
	if l.Entry.Author != "" {
		o.Performer = []reference{{Display: l.Entry.Author}}
	}
	switch b := l.Now.(type) {
	case casebook.Unknown:
		o.Status, o.ValueString = "registered", string(b.Raw)
		m.keep(l, o, s)
		return nil
	case casebook.PersonRegistered:
		m.personShown(b, l, s)
	case casebook.WoundFound:
		m.wound(b, l, s)
	case casebook.OrderWritten:
		if err := m.order(b, l, s); err != nil {
			return err
		}
	case casebook.PumpAssigned:
		m.pump(b, l, s)
	case casebook.DressingChanged:
		m.change(b, l, s)
	case casebook.PhotoTaken:
		m.photo(b, l, s)
	case casebook.OutlineTraced:
		o.Code.Coding = append([]coding{{System: systemLOINC, Code: loincWoundSize}}, o.Code.Coding...)
		m.focus(&o, b.Wound)
	case casebook.WoundMeasured:
		o.Code.Coding = append([]coding{{System: systemLOINC, Code: loincWoundSize}}, o.Code.Coding...)
		o.Method = text(b.Method)
		s.has("method")
		m.focus(&o, b.Wound)
	case casebook.CanisterRead:
		o.Code.Coding = append([]coding{{System: systemLOINC, Code: loincDrainage}}, o.Code.Coding...)
		if b.VolumeML != nil {
			o.ValueQuantity = quantityOf(number(*b.VolumeML), "mL")
			s.has("volume_mL")
		}
	}
	fields, err := fieldsOf(l.Now)
	if err != nil {
		return err
	}
	for _, f := range fields {
		if s.paths[f.path] {
			continue
		}
		if v, ok := f.value.(string); ok && f.path == "note" {
			o.Note = append(o.Note, annotation{Text: v})
			continue
		}
		o.Component = append(o.Component, componentOf(l.Now, f))
	}
	m.keep(l, o, s)
	return nil
}

func (m *maker) keep(l *casebook.Line, o observation, s *shown) {
	if s.natural != nil {
		kind, _, _ := strings.Cut(s.natural.Display, "/")
		ref := reference{Reference: s.natural.Reference}
		switch kind {
		case "Procedure":
			o.PartOf = []reference{ref}
		case "Media":
			o.DerivedFrom = []reference{ref}
		default:
			o.Focus = append(o.Focus, ref)
		}
	}
	r := m.add(o)
	m.of[l.Entry.ID] = r
	who := l.Entry.Author
	if who == "" {
		who = "not recorded"
	}
	by := author{name: who}
	if c := l.Entry.Came; c != nil && c.Phone == "" {
		by.came = *c
	}
	m.author[by] = append(m.author[by], r)
}

func (m *maker) patient() {
	p := patient{head: head{ResourceType: "Patient", ID: m.patientID}, Identifier: []identifier{{System: systemCase, Value: m.in.Review.Case}}}
	if m.in.Review.State.Registered() != nil {
		b := m.in.Review.State.Registered().Body
		if b.Record != "" {
			p.Identifier = append(p.Identifier, identifier{System: systemRecord, Value: b.Record})
		}
		p.Name = []textName{{Text: b.Name}}
		p.BirthDate = b.Born
		if b.Address != "" {
			p.Address = []address{{Text: b.Address}}
		}
		if b.Language != "" {
			p.Communication = []communication{{Language: concept{Text: b.Language}}}
		}
		for _, k := range b.Contacts {
			c := patientContact{Relationship: []concept{{Text: k.Role}}}
			if k.Name != "" {
				c.Name = &textName{Text: k.Name}
			}
			if k.Phone != "" {
				c.Telecom = []contactPoint{{System: "phone", Value: k.Phone}}
			}
			p.Contact = append(p.Contact, c)
		}
	}
	m.add(p)
}

// personShown: the newest registration is the Patient; earlier ones are kept whole.
func (m *maker) personShown(b casebook.PersonRegistered, l *casebook.Line, s *shown) {
	if m.in.Review.State.Registered() == nil || m.in.Review.State.Registered().ID != l.Entry.ID {
		return
	}
	s.natural = &reference{Reference: urn(m.patientID), Display: "Patient"}
	s.has("name", "born", "record", "address", "language")
	for i := range b.Contacts {
		for _, f := range []string{"role", "name", "phone"} {
			s.has("contacts[" + strconv.Itoa(i) + "]." + f)
		}
	}
}

func (m *maker) wound(b casebook.WoundFound, l *casebook.Line, s *shown) {
	w := m.in.Review.State.WoundRecord(b.Wound)
	if w == nil || w.Found == nil || w.Found.ID != l.Entry.ID {
		return
	}
	state := "active"
	if m.in.Review.State.Ended() != nil && m.in.Review.State.Ended().Body.Why == "goal met" {
		// what became of the wound itself nobody wrote down
		state = "inactive"
	}
	id := []identifier{{System: systemEntry, Value: l.Entry.ID}, {System: systemWound, Value: b.Wound}}
	c := condition{head: head{ResourceType: "Condition", ID: m.conditionID(b.Wound)}, Identifier: id,
		ClinicalStatus: &concept{Coding: []coding{{System: clinicalState, Code: state}}},
		Code:           text(b.Type), BodySite: []concept{{Text: b.Site}}, Subject: m.subject(), OnsetDateTime: b.Since, RecordedDate: dateTime(l.Entry.Recorded)}
	if b.Stage != "" {
		stage := concept{Text: b.Stage}
		if code, ok := snomedStage[b.Stage]; ok {
			stage.Coding = []coding{{System: systemSNOMED, Code: code}}
		}
		c.Stage = []conditionStage{{Summary: &stage}}
		s.has("stage")
	}
	m.add(bodyStructure{head: head{ResourceType: "BodyStructure", ID: uuidOf("site", m.in.Review.Case, b.Wound)}, Identifier: id[1:],
		Location: text(b.Site), Description: "Wound " + b.Wound, Patient: m.subject()})
	r := m.add(c)
	r.Display = "Condition"
	s.natural = &r
	s.has("wound", "type", "site", "since")
}

func (m *maker) order(b casebook.OrderWritten, l *casebook.Line, s *shown) error {
	d := deviceRequest{head: head{ResourceType: "DeviceRequest", ID: uuidOf("order", l.Entry.ID)}, Identifier: entryIdentifier(l.Entry.ID),
		Status: "active", Intent: "order", Subject: m.subject(), AuthoredOn: dateTime(l.At),
		CodeCodeableConcept: &concept{Coding: []coding{{System: systemSNOMED, Code: snomedPump}}, Text: "Negative-pressure wound therapy"}}
	for i := range m.in.Review.State.Orders() {
		o := &m.in.Review.State.Orders()[i]
		if o.ID == l.Entry.ID && o.EndedAt != nil {
			d.Status = "completed"
			d.OccurrencePeriod = &period{Start: dateTime(o.At), End: dateTime(*o.EndedAt)}
		}
	}
	if b.Prescriber != "" {
		d.Requester = &reference{Display: b.Prescriber}
		s.has("prescriber")
	}
	if b.Note != "" {
		d.Note = []annotation{{Text: b.Note}}
		s.has("note")
	}
	fields, err := fieldsOf(b)
	if err != nil {
		return err
	}
	for _, f := range fields {
		if s.paths[f.path] {
			continue
		}
		p, ok := parameterOf(b, f)
		if !ok {
			continue
		}
		d.Parameter = append(d.Parameter, p)
		s.has(f.path)
	}
	r := m.add(d)
	r.Display = "DeviceRequest"
	s.natural = &r
	return nil
}

// parameterOf shows a field of an order as a parameter of the request; times have no place there.
func parameterOf(b casebook.Body, f field) (parameter, bool) {
	d, _ := describe(b, f.path)
	code := fieldConcept(b.Kind(), f.path, d.words)
	p := parameter{Code: &code}
	switch v := f.value.(type) {
	case bool:
		p.ValueBoolean = &v
	case json.Number:
		p.ValueQuantity = quantityOf(v, d.unit)
	case string:
		if d.isTime {
			return p, false
		}
		p.ValueCodeableConcept = &concept{Text: v}
	}
	return p, true
}

func (m *maker) pump(b casebook.PumpAssigned, l *casebook.Line, s *shown) {
	deviceID := uuidOf("pump", m.in.Review.Case, b.Pump)
	known := false
	for _, r := range m.resources {
		_, id := r.kind()
		known = known || id == deviceID
	}
	if !known {
		m.add(device{head: head{ResourceType: "Device", ID: deviceID}, Identifier: []identifier{{System: systemPump, Value: b.Pump}},
			Type: &concept{Coding: []coding{{System: systemSNOMED, Code: snomedPump}}, Text: "Negative-pressure wound therapy pump"}, Patient: m.subjectP()})
	}
	use := deviceUse{head: head{ResourceType: "DeviceUseStatement", ID: uuidOf("use", l.Entry.ID)}, Identifier: entryIdentifier(l.Entry.ID),
		Status: "active", Subject: m.subject(), TimingPeriod: &period{Start: dateTime(l.At)}, RecordedOn: dateTime(l.Entry.Recorded), Device: reference{Reference: urn(deviceID), Display: b.Pump}}
	for _, u := range m.in.Review.State.PumpUses() {
		if u.Assigned.ID == l.Entry.ID && u.Returned != nil {
			use.Status, use.TimingPeriod.End = "completed", dateTime(u.Returned.At)
		}
	}
	if b.Note != "" {
		use.Note = []annotation{{Text: b.Note}}
		s.has("note")
	}
	r := m.add(use)
	r.Display = "DeviceUseStatement"
	s.natural = &r
	s.has("pump")
}

// photo is the Media of a photo. Its bytes go along only when the caller gives them; its name is its SHA-256.
func (m *maker) photo(b casebook.PhotoTaken, l *casebook.Line, s *shown) {
	p := media{head: head{ResourceType: "Media", ID: uuidOf("photo", l.Entry.ID)}, Identifier: entryIdentifier(l.Entry.ID), Status: "completed", Type: text("photo of a wound"),
		Subject: m.subjectP(), CreatedDateTime: dateTime(l.At), Width: b.WidthPx, Height: b.HeightPx, Content: &attachment{ContentType: "image/jpeg", Title: "photo of wound " + b.Wound}}
	if k := m.in.Review.State.Photo(l.Entry.ID); k != nil && k.Blob != "" {
		p.Content.Title += ", SHA-256 " + k.Blob
		if m.in.Photo != nil {
			p.Content.Data = m.in.Photo(k.Blob)
			p.Content.Size = len(p.Content.Data)
		}
	}
	r := m.add(p)
	r.Display = "Media"
	s.natural = &r
	s.has("width_px", "height_px")
}

func (m *maker) change(b casebook.DressingChanged, l *casebook.Line, s *shown) {
	p := procedure{head: head{ResourceType: "Procedure", ID: uuidOf("change", l.Entry.ID)}, Identifier: entryIdentifier(l.Entry.ID), Status: "completed",
		Code: text("Change of dressing under negative-pressure wound therapy"), Subject: m.subject(), PerformedDateTime: dateTime(l.At)}
	for _, w := range b.Wounds {
		if k := m.in.Review.State.WoundRecord(w.Wound); k != nil && k.Found != nil {
			p.ReasonReference = append(p.ReasonReference, reference{Reference: urn(m.conditionID(w.Wound))})
		}
	}
	if b.Note != "" {
		p.Note = []annotation{{Text: b.Note}}
		s.has("note")
	}
	r := m.add(p)
	r.Display = "Procedure"
	s.natural = &r
}
