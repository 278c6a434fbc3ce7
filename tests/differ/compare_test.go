package main

import (
	"slices"
	"strings"
	"testing"
)

// TestCompare: a changed word, a row more, a row less and another order are each told once, at their place.
func TestCompare(t *testing.T) {
	base := `{"findings":[{"rule":"CAN-FULL-01","headline":"full"},{"rule":"VIS-OFF-01","headline":"off"}],"n":1,"list":["a","b"]}`
	for name, c := range map[string]struct {
		next string
		want []string
	}{
		"same":       {base, nil},
		"word":       {strings.Replace(base, `"off"`, `"on"`, 1), []string{".findings[VIS-OFF-01].headline"}},
		"row less":   {strings.Replace(base, `{"rule":"CAN-FULL-01","headline":"full"},`, "", 1), []string{".findings[CAN-FULL-01]"}},
		"row more":   {strings.Replace(base, `"n":1`, `"n":1,"m":2`, 1), []string{".m"}},
		"number":     {strings.Replace(base, `"n":1`, `"n":2`, 1), []string{".n"}},
		"order":      {strings.Replace(base, `"a","b"`, `"b","a"`, 1), []string{".list[order]"}},
		"other type": {strings.Replace(base, `["a","b"]`, `"a"`, 1), []string{".list"}},
	} {
		var got []string
		for _, d := range compare(base, c.next) {
			got = append(got, group(d.path))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	if d := compare("Do: measure\nDue: 3 h\n", "Do: measure\nDue: 4 h\n"); len(d) != 1 || d[0].base != "Due: 3 h" || d[0].next != "Due: 4 h" {
		t.Errorf("text: %+v", d)
	}
}

// TestNormal: hashes of rules and review are left out where they are printed, the head of the entries is not.
func TestNormal(t *testing.T) {
	a := strings.Repeat("a1", 32)
	h := strings.Repeat("c3", 32)
	review := `{"rules":"` + a + `","head":"` + h + `"}`
	got := normal(review+" by "+a[:12], hashes(review))
	if want := `{"rules":"<rules>","head":"` + h + `"} by <rules>`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
