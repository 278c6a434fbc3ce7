package fhir

import (
	"encoding/json"
	"strconv"

	"lowtide/casebook"
)

// ownNatural reads what the natural resource of an entry says, and tells whether it is the one of this kind.
func ownNatural(kind casebook.Kind, x *read, set func(string, any)) bool {
	switch {
	case kind == casebook.KindPersonRegistered && x.kind == "Patient":
		p, err := into[patient](x)
		if err != nil {
			return false
		}
		personFields(p, set)
		return true
	case kind == casebook.KindWoundFound && x.kind == "Condition":
		c, err := into[condition](x)
		if err != nil {
			return false
		}
		for _, id := range c.Identifier {
			if id.System == systemWound {
				set("wound", id.Value)
			}
		}
		if c.Code != nil {
			set("type", c.Code.Text)
		}
		if len(c.BodySite) > 0 {
			set("site", c.BodySite[0].Text)
		}
		if len(c.Stage) > 0 && c.Stage[0].Summary != nil {
			set("stage", c.Stage[0].Summary.Text)
		}
		set("since", c.OnsetDateTime)
		return true
	case kind == casebook.KindOrderWritten && x.kind == "DeviceRequest":
		d, err := into[deviceRequest](x)
		if err != nil {
			return false
		}
		if d.Requester != nil {
			set("prescriber", d.Requester.Display)
		}
		if len(d.Note) > 0 {
			set("note", d.Note[0].Text)
		}
		for _, p := range d.Parameter {
			if p.Code == nil {
				continue
			}
			if path, ok := pathOf(kind, *p.Code); ok {
				c := component{ValueQuantity: p.ValueQuantity, ValueBoolean: p.ValueBoolean, ValueCodeableConcept: p.ValueCodeableConcept}
				set(path, c.value())
			}
		}
		return true
	case kind == casebook.KindPumpAssigned && x.kind == "DeviceUseStatement":
		d, err := into[deviceUse](x)
		if err != nil {
			return false
		}
		set("pump", d.Device.Display)
		if len(d.Note) > 0 {
			set("note", d.Note[0].Text)
		}
		return true
	case kind == casebook.KindPhotoTaken && x.kind == "Media":
		p, err := into[media](x)
		if err != nil {
			return false
		}
		if p.Width > 0 {
			set("width_px", json.Number(strconv.Itoa(p.Width)))
		}
		if p.Height > 0 {
			set("height_px", json.Number(strconv.Itoa(p.Height)))
		}
		return true
	case kind == casebook.KindDressingChanged && x.kind == "Procedure":
		p, err := into[procedure](x)
		if err != nil {
			return false
		}
		if len(p.Note) > 0 {
			set("note", p.Note[0].Text)
		}
		return true
	}
	return false
}

// personFields reads a Patient of ours.
func personFields(p patient, set func(string, any)) {
	if len(p.Name) > 0 {
		set("name", p.Name[0].Text)
	}
	set("born", p.BirthDate)
	for _, id := range p.Identifier {
		if id.System == systemRecord {
			set("record", id.Value)
		}
	}
	if len(p.Address) > 0 {
		set("address", p.Address[0].Text)
	}
	if len(p.Communication) > 0 {
		set("language", p.Communication[0].Language.Text)
	}
	for i, c := range p.Contact {
		at := "contacts[" + strconv.Itoa(i) + "]."
		if len(c.Relationship) > 0 {
			set(at+"role", c.Relationship[0].Text)
		}
		if c.Name != nil {
			set(at+"name", c.Name.Text)
		}
		if len(c.Telecom) > 0 {
			set(at+"phone", c.Telecom[0].Value)
		}
	}
}
