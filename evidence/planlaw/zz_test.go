package planlaw_test
import ("testing";"fmt";"time";"sort";"lowtide/casebook";"lowtide/demo";"lowtide/rule";"lowtide/equipment";"lowtide/state";"lowtide/review")
func TestZZ(t *testing.T) {
	rules, _ := rule.Builtin()
	now := time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)
	byCase := map[string][]casebook.Entry{}
	for _, e := range demo.Entries(now, 1) { byCase[e.Case] = append(byCase[e.Case], e) }
	var ids []string
	for id := range byCase { ids = append(ids, id) }
	sort.Strings(ids)
	for _, id := range ids {
		r := review.Of(state.Of(casebook.Fold(id, byCase[id]), rules, equipment.BuiltIn(), nil, now), rules)
		fmt.Println("=====", r.Person.Name)
		for _, s := range r.Plan { d := ""; if x := s.DueApart(time.UTC); x != nil { d = x.Format(" (Mon 2 15:04)") }; fmt.Printf("[%s] %s%s\n", s.Level, s.Do, d); for _, w := range s.Waits { fmt.Println("      W:", w) } }
	}
}
