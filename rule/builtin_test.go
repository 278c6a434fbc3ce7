package rule

import "testing"

// TestRule runs every example case of the pack that comes with the program.
func TestRule(t *testing.T) {
	s, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	results := s.Test()
	if len(results) == 0 {
		t.Fatal("no example case was run")
	}
	for _, c := range results {
		t.Run(c.Rule.ID+"/"+c.Case.Name, func(t *testing.T) {
			if !c.OK() {
				t.Errorf("got %q, want %q", c.Got, c.Case.Want)
			}
		})
	}
}
