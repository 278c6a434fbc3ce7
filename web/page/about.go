package page

import (
	"fmt"
	"strings"

	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/unit"
)

// AboutPage says what Lowtide is, what it cannot do, and what it runs with.
type AboutPage struct {
	// DaySeal tells that the reader may make the seal of the day.
	DaySeal bool
	Frame
	Version                   string
	Rules, RuleHash, Protocol string
	List, ListHash            string
	Pumps                     []PumpClass
	Canisters, Fillers        []EquipmentLine
	Items                     []string
}

// PumpClass is a class of pumps.
type PumpClass struct{ Words, Suction, Run, Charge, Canisters, Source string }

// EquipmentLine is a canister size or a filler.
type EquipmentLine struct{ Words, Value, Source string }

// NewAbout builds the page.
func NewAbout(frame Frame, version string, rules *rule.Set, eq *equipment.Set) AboutPage {
	p := AboutPage{Frame: frame, Version: version, Rules: countWords(len(rules.Rules()), "rule", "rules") + " on " + countWords(len(rules.Sources()), "source", "sources"),
		RuleHash: rules.Hash(), Protocol: rules.Protocol, List: eq.Name, ListHash: eq.Hash}
	for _, c := range eq.Pumps {
		var sizes []string
		for _, s := range c.CanistersML {
			sizes = append(sizes, unit.Number(s, 0))
		}
		p.Pumps = append(p.Pumps, PumpClass{c.Words, unit.Number(c.ShallowestMmHg, 0) + " to " + unit.Number(c.DeepestMmHg, 0) + " mmHg",
			unit.Number(c.RunLeastH, 0) + " to " + unit.Number(c.RunMostH, 0) + " h", unit.Number(c.ChargeH, 0) + " h", strings.Join(sizes, ", ") + " mL", c.Source})
	}
	for _, c := range eq.Canisters {
		p.Canisters = append(p.Canisters, EquipmentLine{unit.Volume(c.SizeML).String(), fmt.Sprintf("%s %%", unit.Number(c.UsableShare*100, 0)), c.Source})
	}
	for _, f := range eq.Fillers {
		p.Fillers = append(p.Fillers, EquipmentLine{f.Words, unit.Number(f.ShallowestMmHg, 0) + " to " + unit.Number(f.DeepestMmHg, 0) + " mmHg", f.Source})
	}
	for _, i := range eq.Items {
		p.Items = append(p.Items, i.Words)
	}
	return p
}
