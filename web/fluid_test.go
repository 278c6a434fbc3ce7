package web_test

import (
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule/value"
	"lowtide/state"
	"lowtide/web/page"
)

// TestFluidShown: Rounds has the line, Case the forecasts with their readings, the tide chart the band and its table the
// numbers; without a size each says what is missing.
func TestFluidShown(t *testing.T) {
	c := newClient(t)
	patients(c)
	// The case says it in short; how, and the numbers of the chart, are a step behind it.
	shown := func() (all string) {
		for _, part := range []string{"", "?part=why", "?part=table"} {
			all += c.get(page.CasePath(oneCase) + part).Body.String()
		}
		return all
	}
	body := shown()
	for _, want := range []string{"Cannot forecast: no canister reading is recorded.", "from the area and a published mean", "canister forecast: cannot forecast: no canister reading"} {
		if !strings.Contains(strings.ToLower(body), strings.ToLower(want)) {
			t.Errorf("without a reading: no %q", want)
		}
	}
	if !strings.Contains(c.get("/").Body.String(), `aria-label="Canister: content not known; not known"`) {
		t.Error("Rounds does not say that the canister is not known")
	}
	for k := range 12 {
		c.add(oneCase, time.Duration(60-5*k)*time.Hour, casebook.CanisterRead{VolumeML: p(float64(10 * k)), Changed: p(k == 0)})
	}
	f := state.FluidOf(c.fold(oneCase), equipment.BuiltIn(), value.Values{}, noon)
	ahead := f.Ahead(noon, noon.Add(72*time.Hour))
	body = shown()
	at := func(x time.Time) string { return state.Expected(f.Zone, x.Truncate(30*time.Minute), noon) }
	for _, want := range []string{"about " + at(ahead.Full.Even.At) + ", four times in five between " + at(ahead.Full.Early.At) + " and " + at(ahead.Full.Late.At), "Protein lost with the fluid, estimate", "mL per cm² a day", "not set. No limit was published",
		"dashed: forecast; band: four times in five", "Canister forecast: ", "and 7 earlier entries in the log", "Chance that the canister fills before the next visit"} {
		if !strings.Contains(html.UnescapeString(body), want) {
			t.Errorf("Case does not say %q", want)
		}
	}
	rounds := c.get("/").Body.String()
	if !regexp.MustCompile(`aria-label="Canister about \d+ percent full by its forecast; may fill `).MatchString(rounds) {
		t.Error("Rounds does not draw the canister")
	}
	c.add(oneCase, time.Hour, casebook.TherapyEnded{Why: "goal met"})
	body = shown()
	for _, not := range []string{"dashed: forecast", "What may come", "from which to look for bleeding"} {
		if strings.Contains(body, not) {
			t.Errorf("therapy has ended and the page says %q", not)
		}
	}
}
