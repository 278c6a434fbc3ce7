package rule

import (
	"io/fs"
	"path"

	"lowtide/payer"
)

// loadPayers reads the payers' policies of a pack: payer/ID.toml.
func loadPayers(fsys fs.FS, found *Problems) []*payer.Policy {
	var out []*payer.Policy
	files(fsys, "payer", found, func(file string, raw []byte) {
		p, wrong := payer.Parse(raw)
		for _, w := range wrong {
			*found = append(*found, Problem{file, w.Key, w.What, w.Do})
		}
		if p != nil && path.Base(file) != p.ID+".toml" {
			*found = append(*found, Problem{file, "id", p.ID + " is not the name of the file", "name the file " + p.ID + ".toml"})
		}
		if p != nil {
			out = append(out, p)
		}
	})
	return out
}

// Payers returns the payers' policies, those of the local protocol last. One that the protocol has under the same name
// takes the place of the built-in one.
func (s *Set) Payers() []*payer.Policy {
	if s.payers == nil {
		return nil
	}
	return s.payers()
}

// Payer returns the policy with the ID, or nil.
func (s *Set) Payer(id string) *payer.Policy {
	for _, p := range s.Payers() {
		if p.ID == id {
			return p
		}
	}
	return nil
}

// addPayers lays policies over those of the set.
func (s *Set) addPayers(list []*payer.Policy) {
	all := s.Payers()
	for _, p := range list {
		var kept []*payer.Policy
		for _, old := range all {
			if old.ID != p.ID {
				kept = append(kept, old)
			}
		}
		all = append(kept, p)
	}
	s.payers = func() []*payer.Policy { return all }
}
