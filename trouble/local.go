package trouble

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"

	"github.com/BurntSushi/toml"
)

// LocalFile is the name of the file with an agency's own numbers in the folder of its local protocol.
const LocalFile = "call.toml"

// localFile changes single numbers of the model; see docs/format/call.md.
type localFile struct {
	Name      string
	Emergency string
	Setting   map[string]float64
	Prior     map[string]float64
	Check     map[string]struct {
		Minutes *float64
		Say     *string
		Finds   map[string]float64
	}
	Sign map[string]struct {
		Minutes *float64
		Ask     *string
		Usual   []float64
		Given   map[string][]float64
	}
	Danger map[string]struct {
		Ask, Yes, Unknown *string
	}
}

// WithLocal lays an agency's own numbers over the model, which stays as it is. Changed priors are weights beside the
// others: all are scaled to sum to 1. Everything that is wrong is returned as Problems.
func (m *Model) WithLocal(raw []byte) (*Model, error) {
	var f localFile
	var found Problems
	meta, err := toml.Decode(string(raw), &f)
	if err != nil {
		found.add(LocalFile, oneLine(err.Error()), "write it as TOML; docs/format/call.md shows how")
		return nil, found
	}
	for _, key := range meta.Undecoded() {
		found.add(LocalFile+": "+key.String(), "is no key of this file", "check the spelling, or take it out")
	}
	out := *m
	out.Causes, out.Signs = slices.Clone(m.Causes), slices.Clone(m.Signs)
	out.Checks, out.Dangers, out.Settings = slices.Clone(m.Checks), slices.Clone(m.Dangers), slices.Clone(m.Settings)
	out.Local, out.Emergency = f.Name, f.Emergency
	if f.Name == "" {
		found.add(LocalFile+": name", "missing", "name the file, with its version or date")
	}
	if len(f.Emergency) > 40 {
		found.add(LocalFile+": emergency", f.Emergency, "write the number alone")
	}
	out.localNumbers(f, &found)
	out.localWords(f, &found)
	if len(found) == 0 {
		out.check(&found)
	}
	if len(found) > 0 {
		return nil, found
	}
	sum := sha256.Sum256(append([]byte(m.Hash), raw...))
	out.Hash = hex.EncodeToString(sum[:])
	return &out, nil
}

func (m *Model) localNumbers(f localFile, found *Problems) {
	for _, name := range keys(f.Setting) {
		s := find(m.Settings, name, func(s *Setting) string { return s.Name })
		if s == nil {
			remedy := "name one of the built-in settings"
			if name == "off_limit_h" {
				remedy = "change the shared value off_limit in protocol.toml: it then holds for rules, papers and the Call desk alike"
			}
			found.add(LocalFile+": setting."+name, "is no setting", remedy)
			continue
		}
		s.Value, s.Local = f.Setting[name], true
	}
	sum := 0.0
	for _, id := range keys(f.Prior) {
		c := m.Cause(id)
		if c == nil {
			found.add(LocalFile+": prior."+id, "is no cause", "name one of the built-in causes")
			continue
		}
		if p := f.Prior[id]; !(p > 0 && p < 1) {
			found.add(LocalFile+": prior."+id, fmt.Sprint(p), "write a chance between 0 and 1")
		}
		c.Prior, c.Local = f.Prior[id], true
	}
	for i := range m.Causes {
		sum += m.Causes[i].Prior
	}
	for i := range m.Causes {
		m.Causes[i].Prior /= sum
		m.Causes[i].Stated = m.Causes[i].Prior
	}
	for _, id := range keys(f.Check) {
		c := m.Check(id)
		if c == nil {
			found.add(LocalFile+": check."+id, "is no check", "name one of the built-in checks")
			continue
		}
		if x := f.Check[id]; x.Minutes != nil || len(x.Finds) > 0 {
			c.Finds, c.Local = maps.Clone(c.Finds), true
			maps.Copy(c.Finds, x.Finds)
			c.Stated = c.Finds
			if x.Minutes != nil {
				c.Minutes = *x.Minutes
			}
		}
	}
	for _, id := range keys(f.Sign) {
		s := m.Sign(id)
		if s == nil {
			found.add(LocalFile+": sign."+id, "is no sign", "name one of the built-in signs")
			continue
		}
		x := f.Sign[id]
		s.Given, s.Local = maps.Clone(s.Given), true
		if s.Given == nil {
			s.Given = map[string][]float64{}
		}
		maps.Copy(s.Given, x.Given)
		if x.Usual != nil {
			s.Usual = x.Usual
		}
		if x.Minutes != nil {
			s.Minutes = *x.Minutes
		}
	}
}

// localWords changes what is read out: a service may have its own wording, in its own language.
func (m *Model) localWords(f localFile, found *Problems) {
	put := func(to *string, from *string) {
		if from != nil {
			*to = *from
		}
	}
	for id, x := range f.Check {
		if c := m.Check(id); c != nil {
			put(&c.Say, x.Say)
		}
	}
	for id, x := range f.Sign {
		s := m.Sign(id)
		if s == nil || x.Ask == nil {
			continue
		}
		if s.FromCase {
			found.add(LocalFile+": sign."+id+".ask", *x.Ask, "this sign is taken from the case and never asked")
			continue
		}
		put(&s.Ask, x.Ask)
	}
	for _, id := range keys(f.Danger) {
		d := m.Danger(id)
		if d == nil {
			found.add(LocalFile+": danger."+id, "is no danger question", "name one of the built-in questions; none can be taken off")
			continue
		}
		x := f.Danger[id]
		put(&d.Ask, x.Ask)
		put(&d.Yes, x.Yes)
		put(&d.Unknown, x.Unknown)
		d.Local = true
	}
}
