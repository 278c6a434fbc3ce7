package aloud

import (
	"slices"
	"testing"
)

// TestWrong: each banned form is found, and what a nurse would say is not.
func TestWrong(t *testing.T) {
	for _, bad := range []string{
		"Cannot tell which risks the patient has: 1 questions are not answered.", "Age: 1 years",
		"The canister fills before Friday with a chance of 80 %.", "31.5 % chance to mend it", "Area: 4 cm² (80 %: 3 to 5)", "with 80 % probability between 3 and 4",
		"about 4 (80 % interval 3 to 5)", "Area, two times in three between", "12.2 cm², standard error 0.3 cm²", "the payer ends in 103 days", "40.36 mL per cm² a day",
		"by the flow 43.6 % more", "a leak of 2378.4 mL/min", "Area reduction: -101.9 %", "11.42 times as much", "wound Wound A", "it is day 1 days", "wounds A: 2 pieces",
		"two  spaces", "Verify with the payer's current text..", "told ( yes)", "Call by Tue 10 Mar about the goal. By 16:15.", "%!s(int=3)", "Ann, born 1951-12-07",
	} {
		if Wrong(bad) == "" {
			t.Errorf("%q is said to be right", bad)
		}
	}
	for _, good := range []string{
		"1 question is not answered.", "wound A", "wounds A and B", "It may be full from Wednesday night; the chance is one in three.", "granulation 80 %, slough 20 %", "The canister was 86 % full (430 mL of 500 mL).",
		"12.2 cm², four times in five between 11.8 and 12.6 cm²", "every 60 h", "Overdue since yesterday 02:30", "37.4 °C", "In the last 11 days", "see the log … (all of it in the case)", "0115 496 0100",
		"at 2 o'clock, 4.5 cm", "stage 1 settles at 70 mmHg", "Born 7 December 1951", "by Tue 10 Mar. Overdue since 08:40.",
	} {
		if wrong := Wrong(good); wrong != "" {
			t.Errorf("%q: %s", good, wrong)
		}
	}
}

func TestLines(t *testing.T) {
	got := Lines(`<head><title>x</title></head><main><h1>Ann</h1><p>One <b>line</b> &amp; more</p><table><tr><th>A</th><td>1</td></tr></table><details class="why"><summary>Why, source</summary><p>13.1 %</p></details><p>End</p></main>`)
	if want := []string{"Ann", "One line & more", "A | 1", "End"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}
