package state

import (
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
)

// The spans for which use is foreseen.
const (
	Week      = 7 * 24 * time.Hour
	Fortnight = 14 * 24 * time.Hour
)

// Supplies is what a case will use, and where it stands before its payer.
type Supplies struct {
	Needs *Needs
	// Week and Fortnight are the expected use; Cannot says what cannot be told.
	Week, Fortnight []ItemUse
	Cannot          []string
	// Payer is nil when none is noted.
	Payer *PayerStand
}

// SuppliesOf reads what a case will use from the instant on.
func SuppliesOf(c *casebook.Case, rules *rule.Set, eq *equipment.Set, asOf time.Time) *Supplies {
	n := NeedsOf(c, eq, rules.Values(asOf), FluidsOf(c, eq, rules.Values(asOf), asOf))
	s := &Supplies{Needs: n, Payer: PayerOf(c, rules, n, asOf)}
	if n.Why == "" {
		s.Week, s.Cannot = n.Use(asOf, asOf.Add(Week))
		s.Fortnight, _ = n.Use(asOf, asOf.Add(Fortnight))
	}
	return s
}
