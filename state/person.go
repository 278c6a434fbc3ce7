package state

import (
	"strings"
	"time"

	"lowtide/casebook"
)

// Person is what a list needs to know of the patient.
type Person struct {
	Name    string `json:"name"`
	Record  string `json:"record,omitempty"`
	Place   string `json:"place,omitempty"`
	Address string `json:"address,omitempty"`
	Nurse   string `json:"nurse,omitempty"`
	Team    string `json:"team,omitempty"`
	Zone    string `json:"zone"`
}

func PersonOf(c *casebook.Case) Person {
	p := Person{Name: "name not recorded", Zone: c.Zone.String()}
	if c.Person != nil {
		b := c.Person.Body
		p.Name, p.Record, p.Place, p.Address, p.Nurse, p.Team = b.Name, b.Record, b.Place, b.Address, b.Nurse, b.Team
	}
	return p
}

func personFacts(c *casebook.Case, asOf time.Time, set Sink) {
	if c.Person == nil {
		return
	}
	p, id := c.Person.Body, c.Person.ID
	set.setText("person.place", p.Place, id)
	set.setText("person.mobility", p.Mobility, id)
	set.setNum("person.weight_kg", p.WeightKg, id)
	if born, err := time.Parse(time.DateOnly, p.Born); err == nil {
		set("person.age_y", float64(age(born, asOf.In(c.Zone))), id)
	}
	callable := false
	for _, k := range p.Contacts {
		callable = callable || strings.TrimSpace(k.Phone) != ""
	}
	set("person.has_call_number", callable, id)
}

// age counts completed years.
func age(born, at time.Time) int {
	y := at.Year() - born.Year()
	if at.Month() < born.Month() || (at.Month() == born.Month() && at.Day() < born.Day()) {
		y--
	}
	return y
}
