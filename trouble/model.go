package trouble

import (
	"slices"
)

// Basis says where a number comes from.
type Basis struct {
	// Sure is "from memory", "common practice" or how sure the source's row is; Source is an ID of data/source.toml.
	Sure, Source, Locator string
	// Local tells that a local file changed it.
	Local bool
}

// Setting is a number that is no chance.
type Setting struct {
	Name  string
	Value float64
	Unit  string
	Words string
	Basis
}

// Cause is one thing that can be wrong.
type Cause struct {
	ID    string
	Words string
	// Plain names it to a helper on the phone.
	Plain string
	// Prior is the chance before anything is known; Stated is that of the file, before calls were counted.
	Prior, Stated float64
	// Found counts the local calls in which it was found.
	Found int
	// Always keeps it on every list.
	Always bool
	Basis
}

// Answer is one of the answers to a sign.
type Answer struct{ ID, Words string }

// Sign is something that is heard, seen or known.
type Sign struct {
	ID, Words string
	// Ask is the question to read out; empty for what only a case tells.
	Ask     string
	Minutes float64
	Answers []Answer
	// Usual has the chance of each answer for causes that Given does not name.
	Usual []float64
	Given map[string][]float64
	// Edges cut a number into the answers, in Unit. Shared names the shared value that is one more edge, the highest.
	Edges  []float64
	Shared string
	Unit   string
	// Replaces names signs that tell the same less well.
	Replaces []string
	FromCase bool
	Basis
}

// Chance is the chance of the answer for the cause.
func (s *Sign) Chance(answer int, cause string) float64 {
	if p, ok := s.Given[cause]; ok {
		return p[answer]
	}
	return s.Usual[answer]
}

// Answer returns the place of an answer, or -1.
func (s *Sign) Answer(id string) int {
	return slices.IndexFunc(s.Answers, func(a Answer) bool { return a.ID == id })
}

// Band is the answer into which a number falls; ok is false for a sign without edges. shared gives a shared value in a unit.
func (s *Sign) Band(x float64, shared func(id, unit string) float64) (answer string, ok bool) {
	if len(s.Edges) == 0 || x != x {
		return "", false
	}
	i := 0
	for i < len(s.Edges) && x >= s.Edges[i] {
		i++
	}
	if s.Shared != "" {
		if x >= shared(s.Shared, s.Unit) {
			return s.Answers[len(s.Answers)-1].ID, true
		}
	}
	return s.Answers[i].ID, true
}

// Check is something that a helper can do.
type Check struct {
	ID, Say, Words string
	// Needs is what must be at hand.
	Needs   string
	Minutes float64
	// Finds is the chance, for each cause, that the check finds and mends it; Stated is that of the file.
	Finds, Stated map[string]float64
	Basis
}

// Danger is a question that comes first and cannot be skipped.
type Danger struct {
	ID, Words, Ask string
	// Yes and Unknown say what to do for the patient; {emergency} stands for the local number.
	Yes, Unknown string
	// Stop sends the call to emergency help on a "yes", and counts "cannot tell" as yes once somebody was sent to look.
	Stop bool
	// Raised are answers to signs, any of which makes the question be asked; empty is always.
	Raised []map[string]string
	Usual  float64
	Given  map[string]float64
	Basis
}

// Chance is the chance of a "yes" for the cause.
func (d *Danger) Chance(cause string) float64 {
	if p, ok := d.Given[cause]; ok {
		return p
	}
	return d.Usual
}

// Model is everything that the Call desk goes by. It is not changed after loading and may be shared.
type Model struct {
	Causes   []Cause
	Dangers  []Danger
	Signs    []Sign
	Checks   []Check
	Settings []Setting
	// Sources are the titles by ID.
	Sources map[string]string
	// Local is the name of the local file that was laid over it; Emergency its local emergency number.
	Local, Emergency string
	// Hash names the contents.
	Hash string
	// Calls is how many ended calls were counted into it.
	Calls int
	// tried holds what was counted for the checks.
	tried map[string]map[string]Tried
}

// Setting returns a setting's value; it panics for one that is not in the file, which the loader makes sure of.
func (m *Model) Setting(name string) float64 {
	for _, s := range m.Settings {
		if s.Name == name {
			return s.Value
		}
	}
	panic("trouble: no setting " + name)
}

// Cause returns the cause with the ID, or nil.
func (m *Model) Cause(id string) *Cause {
	return find(m.Causes, id, func(c *Cause) string { return c.ID })
}

// Sign returns the sign with the ID, or nil.
func (m *Model) Sign(id string) *Sign { return find(m.Signs, id, func(s *Sign) string { return s.ID }) }

// Check returns the check with the ID, or nil.
func (m *Model) Check(id string) *Check {
	return find(m.Checks, id, func(c *Check) string { return c.ID })
}

// Danger returns the danger question with the ID, or nil.
func (m *Model) Danger(id string) *Danger {
	return find(m.Dangers, id, func(d *Danger) string { return d.ID })
}

func find[T any](list []T, id string, of func(*T) string) *T {
	for i := range list {
		if of(&list[i]) == id {
			return &list[i]
		}
	}
	return nil
}
