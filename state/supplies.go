package state

import "time"

// The spans for which use is foreseen.
const (
	Week      = 7 * 24 * time.Hour
	Fortnight = 14 * 24 * time.Hour
)

// Supplies is what a case will use from the instant of its state on.
type Supplies struct {
	Needs *Needs
	// Week and Fortnight are the expected use; Cannot says what cannot be told.
	Week, Fortnight []ItemUse
	Cannot          []string
}

// Supplies reads what the case will use.
func (s *State) Supplies() Supplies {
	out := Supplies{Needs: s.Needs()}
	if out.Needs.Why == "" {
		out.Week, out.Cannot = out.Needs.Use(s.AsOf, s.AsOf.Add(Week))
		out.Fortnight, _ = out.Needs.Use(s.AsOf, s.AsOf.Add(Fortnight))
	}
	return out
}
