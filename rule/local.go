package rule

import (
	"fmt"
	"io/fs"
	"path"
	"reflect"

	"lowtide/unit"
)

// protocolFile is the heart of a local protocol folder.
const protocolFile = "protocol.toml"

// callFile in the same folder holds an agency's own numbers of the Call desk, which package trouble reads.
const callFile = "call.toml"

// WithLocal lays a local protocol folder over the set and returns the set that results; s stays as it is. The folder
// holds protocol.toml (its name, [[change]] and [[off]]), and may hold further rules under data, sources under
// source and payers' policies under payer in the form of the built-in pack. Everything that is wrong is returned as Problems.
func (s *Set) WithLocal(fsys fs.FS) (*Set, error) {
	var found Problems
	out := &Set{}
	for _, r := range s.rules {
		clone := *r
		clone.Values = append([]Value(nil), r.Values...)
		out.rules = append(out.rules, &clone)
	}
	for _, src := range s.sources {
		clone := *src
		out.sources = append(out.sources, &clone)
	}
	if s.Protocol != "" {
		found = append(found, Problem{protocolFile, "", "the set already has the local protocol " + s.Protocol, "lay one protocol over the built-in pack"})
	}
	added := loadRules(fsys, &found)
	for _, r := range added {
		r.Local = true
		out.rules = append(out.rules, r)
	}
	for _, src := range loadSources(fsys, &found) {
		src.Local = true
		out.sources = append(out.sources, src)
	}
	out.addPayers(s.payers)
	out.addPayers(loadPayers(fsys, &found))
	out.link(&found) // before the changes, which are checked one by one
	out.readProtocol(fsys, &found)
	strays(fsys, &found)
	if len(found) > 0 {
		return nil, found
	}
	out.finish()
	return out, nil
}

// strays complains of TOML files that nothing reads.
func strays(fsys fs.FS, found *Problems) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		*found = append(*found, Problem{".", "", "cannot be read: " + err.Error(), "check the folder and its permissions"})
	}
	for _, e := range entries {
		name := e.Name()
		switch {
		case name == protocolFile || name == "data" || name == "source" || name == "payer" || name == callFile:
		case e.IsDir() || path.Ext(name) == ".toml":
			*found = append(*found, Problem{name, "", "is not read", "put rules under data, sources under source and payers' policies under payer"})
		}
	}
}

func (s *Set) readProtocol(fsys fs.FS, found *Problems) {
	raw, err := fs.ReadFile(fsys, protocolFile)
	if err != nil {
		*found = append(*found, Problem{protocolFile, "", "cannot be read: " + err.Error(), "write it with at least name = \"...\""})
		return
	}
	f := readTOML(protocolFile, raw, found)
	if f == nil {
		return
	}
	s.Protocol = f.need("name", "name the protocol, with its version or date")
	for _, c := range f.list("change") {
		s.readChange(c)
		c.done()
	}
	for _, o := range f.list("off") {
		off := &Off{o.need("rule", "write the ID of the rule"), o.need("reason", "say why"), o.need("by", "say who decided")}
		if r := s.localTarget(o, off.Rule); r != nil {
			if r.Off != nil {
				o.say("rule", off.Rule+" is switched off twice", "take one out")
			}
			r.Off = off
		}
		o.done()
	}
	f.done()
}

// localTarget finds the built-in rule that a change or an off means.
func (s *Set) localTarget(f *fields, id string) *Rule {
	r := s.Rule(id)
	switch {
	case id == "":
		return nil
	case r == nil:
		f.say("rule", "there is no rule "+id, "see lowtide rules list")
	case r.Withdrawn != nil:
		f.say("rule", id+" is withdrawn", "take this out")
	case r.Local:
		f.say("rule", id+" is a rule of this protocol", "change its own file")
	default:
		return r
	}
	return nil
}

func (s *Set) readChange(f *fields) {
	c := &Change{
		Rule:   f.need("rule", "write the ID of the rule"),
		Value:  f.need("value", "write the name of the value"),
		Reason: f.need("reason", "say why"),
		By:     f.need("by", "say who decided"),
		From:   f.date("from"),
	}
	if !f.has("from") {
		f.say("from", "is missing", "write the date from which the change holds")
	}
	to, name := f.constant("to"), f.blank("unit")
	name = checkUnit(f, "unit", to, name)
	r := s.localTarget(f, c.Rule)
	if r == nil {
		f.list("case")
		return
	}
	var v *Value
	for i := range r.Values {
		if r.Values[i].Name == c.Value {
			v = &r.Values[i]
		}
	}
	c.cases = readCases(f, r, true)
	if v == nil {
		if c.Value != "" {
			f.say("value", c.Rule+" has no value "+c.Value, "see lowtide rules explain "+c.Rule)
		}
		return
	}
	if v.Local {
		f.say("value", c.Value+" of "+c.Rule+" is changed twice", "keep one change for each value")
		return
	}
	if to == nil {
		return
	}
	was := v.Value
	if v.Unset {
		was = v.Example
	}
	if reflect.TypeOf(to) != reflect.TypeOf(was) {
		f.say("to", fmt.Sprintf("is %v, and the value is %v", to, was), "write a value of the same type")
		return
	}
	if !r.Until.IsZero() && !c.From.Before(r.Until) {
		f.say("from", c.Rule+" is in force only until "+r.Until.Format("2006-01-02"), "take the change out")
		return
	}
	if v.Unit != "" && name != v.Unit {
		var err error
		if to, err = convert(to, name, v.Unit); err != nil {
			f.say("unit", err.Error(), "give it in "+v.Unit)
			return
		}
	}
	c.To = to
	v.Local, v.Original, v.Value, v.Change = true, v.Value, to, c
	var wrong Problems
	r.compile(&wrong)
	for _, p := range wrong {
		f.say("to", "does not fit the rule ("+p.Key+": "+p.What+")", p.Do)
	}
}

func convert(v any, from, to string) (any, error) {
	list, ok := v.([]float64)
	if !ok {
		return unit.Convert(v.(float64), from, to)
	}
	out := make([]float64, len(list))
	for i := range list {
		var err error
		if out[i], err = unit.Convert(list[i], from, to); err != nil {
			return nil, err
		}
	}
	return out, nil
}
