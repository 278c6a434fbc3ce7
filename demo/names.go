package demo

import "fmt"

// The service's invented nurses and teams.
var (
	nurses = []string{"M. Thorne", "J. Okafor", "L. Brandt"}
	teams  = []string{"Quayside", "Hill"}
)

func record(n int) string { return fmt.Sprintf("HD-%04d", 4100+37*n) }
func pump(n int) string   { return fmt.Sprintf("P-%03d", 11+3*n) }
