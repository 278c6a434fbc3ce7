package unit

import "testing"

func TestZone(t *testing.T) {
	a, ok := Zone("Europe/Berlin")
	b, again := Zone("Europe/Berlin")
	if !ok || !again || a != b || a.String() != "Europe/Berlin" {
		t.Errorf("%v %v, %v %v", a, ok, b, again)
	}
	for _, name := range []string{"", "Europe/Nowhere", "../etc/passwd"} {
		if z, ok := Zone(name); ok {
			t.Errorf("%q is %v", name, z)
		}
	}
}
