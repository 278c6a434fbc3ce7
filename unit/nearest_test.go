package unit

import "testing"

func TestNearest(t *testing.T) {
	known := []string{"canister_mL", "usable_share", "area_cm2", "mL"}
	for _, c := range []struct{ word, want string }{
		{"canister_ml", "canister_mL"}, {"Canister ML", "canister_mL"}, {"usable_shar", "usable_share"}, {"aera_cm2", "area_cm2"},
		{"colour", ""}, {"", ""}, {"nL", ""}, {"__", ""},
	} {
		if got := Nearest(c.word, known); got != c.want {
			t.Errorf("%q: %q, want %q", c.word, got, c.want)
		}
	}
}
