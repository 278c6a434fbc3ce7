package rule

import (
	"fmt"
	"io/fs"
	"path"
	"reflect"
	"slices"

	"lowtide/unit"
)

// protocolFile is the heart of a local protocol folder.
const protocolFile = "protocol.toml"

// callFile in the same folder holds an agency's own numbers of the Call desk, which package trouble reads.
const callFile = "call.toml"

// WithLocal lays a local protocol folder over the set and returns the set that results; s stays as it is. The folder
// holds protocol.toml (its name, [[change]] and [[off]]), and may hold further rules under data, shared values under
// value, sources under source and payers' policies under payer in the form of the built-in pack. Everything that is wrong is returned as Problems.
func (s *Set) WithLocal(fsys fs.FS) (*Set, error) {
	var found Problems
	out := &Set{}
	for _, r := range s.rules {
		clone := *r
		clone.Values = append([]Value(nil), r.Values...)
		if r.made != nil {
			clone.made = &made{}
		}
		out.rules = append(out.rules, &clone)
	}
	for _, v := range s.shared {
		clone := *v
		out.shared = append(out.shared, &clone)
	}
	for _, src := range s.sources {
		clone := *src
		out.sources = append(out.sources, &clone)
	}
	if s.Protocol != "" {
		found = append(found, Problem{protocolFile, "", "the set already has the local protocol " + s.Protocol, "lay one protocol over the built-in pack"})
	}
	added := loadRules(formsOf(fsys), &found)
	for _, r := range added {
		r.Local = true
		out.rules = append(out.rules, r)
	}
	for _, v := range loadShared(formsOf(fsys), &found) {
		v.Added = true
		out.shared = append(out.shared, v)
	}
	for _, src := range loadSources(formsOf(fsys), &found) {
		src.Local = true
		out.sources = append(out.sources, src)
	}
	out.addPayers(s.Payers())
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
		case name == protocolFile || name == "data" || name == "value" || name == "source" || name == "payer" || name == callFile:
		case e.IsDir() || path.Ext(name) == ".toml":
			*found = append(*found, Problem{name, "", "is not read", "put rules under data, shared values under value, sources under source and payers' policies under payer"})
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
		Rule:   f.text("rule"),
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
	v, rules := s.changed(f, c)
	if v == nil {
		f.list("case")
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
	if v.Unit != "" && name != v.Unit {
		var err error
		if to, err = convert(to, name, v.Unit); err != nil {
			f.say("unit", err.Error(), "give it in "+v.Unit)
			return
		}
	}
	if x, ok := to.(float64); v.Shared && !(ok && x > 0) {
		f.say("to", fmt.Sprintf("is %v", to), "a shared value is a number above 0")
		return
	}
	c.To = to
	v.Local, v.Original, v.Value, v.Change = true, v.Value, to, c
	for _, r := range rules {
		if w := r.valueAt(c.Value); w != v {
			*w = *v
		}
		var wrong Problems
		r.compile(&wrong)
		for _, p := range wrong {
			f.say("to", fmt.Sprintf("does not fit %s (%s: %s)", r.ID, p.Key, p.What), p.Do)
		}
	}
}

// changed finds the value that a change means, and the rules that it bears on; v is nil after a complaint.
func (s *Set) changed(f *fields, c *Change) (v *Value, rules []*Rule) {
	if c.Rule == "" {
		return s.changedShared(f, c)
	}
	r := s.localTarget(f, c.Rule)
	if r == nil {
		return nil, nil
	}
	c.cases = readCases(f, func(*fields) *Rule { return r }, true)
	v = r.valueAt(c.Value)
	switch {
	case v == nil && c.Value != "" && len(r.use) > 0:
		f.say("value", c.Rule+" has no value "+c.Value, "see lowtide rules explain "+c.Rule+"; it uses the shared values "+r.sharedNames()+", which are changed without rule = ...")
	case v == nil && c.Value != "":
		f.say("value", c.Rule+" has no value "+c.Value, "see lowtide rules explain "+c.Rule)
	case v != nil && v.Shared:
		f.say("rule", c.Value+" is shared with other rules, computations and papers, and cannot differ in one of them", "leave rule out; then it changes everywhere")
		return nil, nil
	case v != nil && v.Local:
		f.say("value", c.Value+" of "+c.Rule+" is changed twice", "keep one change for each value")
		return nil, nil
	case !r.Until.IsZero() && !c.From.Before(r.Until):
		f.say("from", c.Rule+" is in force only until "+r.Until.Format("2006-01-02"), "take the change out")
		return nil, nil
	}
	return v, []*Rule{r}
}

func (s *Set) changedShared(f *fields, c *Change) (*Value, []*Rule) {
	i := slices.IndexFunc(s.shared, func(v *Shared) bool { return v.Name == c.Value })
	if i < 0 {
		if c.Value != "" {
			f.say("value", "there is no shared value "+c.Value, "see lowtide rules values, or name the rule whose own value it is: rule = \"...\"")
		}
		return nil, nil
	}
	v := s.shared[i]
	switch {
	case v.Added:
		f.say("value", c.Value+" is a value of this protocol", "change its own file")
		return nil, nil
	case v.Local:
		f.say("value", c.Value+" is changed twice", "keep one change for each value")
		return nil, nil
	case !v.Until.IsZero() && !c.From.Before(v.Until):
		f.say("from", c.Value+" is in force only until "+v.Until.Format("2006-01-02"), "take the change out")
		return nil, nil
	}
	c.cases = readCases(f, func(k *fields) *Rule {
		id := k.need("rule", "write the ID of the rule that the example is of")
		if r := s.Rule(id); r != nil && r.valueAt(c.Value) != nil {
			return r
		} else if id != "" {
			k.say("rule", id+" does not use "+c.Value, "name a rule that does: lowtide rules values")
		}
		return nil
	}, true)
	return &v.Value, v.rules
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
