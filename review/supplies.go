package review

import (
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
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
	n := NeedsOf(c, eq, FluidsOf(c, eq, rules, asOf))
	s := &Supplies{Needs: n, Payer: PayerOf(c, rules, n, asOf)}
	if n.Why == "" {
		s.Week, s.Cannot = n.Use(asOf, asOf.Add(weekD*24*time.Hour))
		s.Fortnight, _ = n.Use(asOf, asOf.Add(fortnightD*24*time.Hour))
	}
	return s
}
