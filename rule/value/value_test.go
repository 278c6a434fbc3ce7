package value

import (
	"testing"
	"time"
)

func TestValues(t *testing.T) {
	v := New([]Value{{ID: "stay", Number: 2, Unit: "h"}, {ID: "own", Unit: "mL/h", Unset: true}, {ID: "heat", Number: 38.8, Unit: "°C"}}, time.Time{})
	if v.In("stay", "min") != 120 || v.Span("stay") != 2*time.Hour || v.In("heat", "°C") != 38.8 {
		t.Error("a number is not what was given")
	}
	if got := v.Fill("after {stay}, from {heat}; {own}"); got != "after 2 h, from 38.8 °C; not set" {
		t.Error(got)
	}
	if _, ok := v.Maybe("own", "mL/h"); ok {
		t.Error("an empty value has a number")
	}
	for name, bad := range map[string]func(){
		"unknown": func() { v.In("rest", "h") }, "other unit": func() { v.In("stay", "mmHg") }, "empty": func() { v.In("own", "mL/h") },
		"unknown in a sentence": func() { v.Fill("{rest}") }, "half a brace": func() { v.Fill("{stay") }, "of none": func() { (Values{}).Text("stay") },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			bad()
		}()
	}
}
