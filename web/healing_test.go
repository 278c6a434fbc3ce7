package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/web/page"
)

// sized writes five weekly sizes of wound A; factor is what length and width keep from week to week.
func sized(c *client, factor float64) {
	c.add(oneCase, 41*day, casebook.PersonRegistered{Name: "Ann Case", Place: "home", Zone: "Europe/London"})
	l, w, d := 8.0, 5.0, 3.0
	c.add(oneCase, 40*day, casebook.WoundFound{Wound: "A", Site: "left hip", Type: "pressure"})
	c.add(oneCase, 39*day, casebook.OrderWritten{Prescriber: "Dr One", Stages: []casebook.Stage{{SuctionMmHg: 125}}, Goal: "close", GoalKind: "depth under", GoalDepthCm: p(1.0), ChangeEveryH: p(60.0), AcceptsRisks: []string{"anticoagulant"}})
	for wk := range 5 {
		c.add(oneCase, time.Duration(35-7*wk)*day, casebook.WoundMeasured{Wound: "A", LengthCm: p(l), WidthCm: p(w), DepthCm: p(d), Method: "ruler", Convention: "head to toe", NoneUnder: true})
		l, w, d = l*factor, w*factor, d*factor*factor
	}
}

// TestWoundPage: chart, sentence, markers with their sources, figures with theirs, forecasts with intervals.
func TestWoundPage(t *testing.T) {
	c := newClient(t)
	sized(c, 0.93)
	res := c.get(page.WoundPath(oneCase, "A"))
	body := res.Body.String()
	if res.Code != http.StatusOK {
		t.Fatalf("%d", res.Code)
	}
	for _, want := range []string{"In plain words, for the patient:", "the surface of the wound is", "That is an estimate and no promise.", "Area in 2 weeks", "Depth in 4 weeks", "Closure", "Goal: a depth under 1 cm", "four times in five between",
		"35 % of the area gone by week 4, the mean of pressure ulcers that closed", "Edsberg 2011", "no share of patients was published", "Chance that it is not improving", "Gilman 1990", "definition as in Sheehan 2003",
		"No local curve: 0 ended cases", "The numbers as a table", "The forecast as a table", "ruler, ellipse of length and width", "does not replace clinical judgement"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if n := len(body); n > 100_000 {
		t.Errorf("the page has %d bytes", n)
	}
	for _, word := range []string{"NaN", "%!", "Inf"} {
		if strings.Contains(body, word) {
			t.Errorf("the page says %s", word)
		}
	}
	if res := c.get(page.WoundPath(oneCase, "Z")); res.Code != http.StatusNotFound {
		t.Errorf("a wound that is not there: %d", res.Code)
	}
	if body := c.get(page.CasePath(oneCase)).Body.String(); !strings.Contains(body, page.WoundPath(oneCase, "A")) || !strings.Contains(body, page.CasePath(oneCase, "decision")) {
		t.Error("the case does not lead to its wound and to the decision")
	}
}

// TestWoundPageOfNothing: a wound that nobody measured is shown with what cannot be told.
func TestWoundPageOfNothing(t *testing.T) {
	c := newClient(t)
	c.add(oneCase, day, casebook.PersonRegistered{Name: "Ann", Place: "home", Zone: "Europe/London"}, casebook.WoundFound{Wound: "A b", Site: "heel", Type: "pressure"})
	res := c.get(page.WoundPath(oneCase, "A b"))
	body := res.Body.String()
	for _, want := range []string{"has not been measured yet", "Cannot forecast", "cannot tell", "a marker needs a first area"} {
		if res.Code != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("%d, does not say %q", res.Code, want)
		}
	}
}

// TestMixedMethodsAreSaid: a tracing among ruler sizes is brought to one scale, and areas of another convention are left
// out; the page says both.
func TestMixedMethodsAreSaid(t *testing.T) {
	c := newClient(t)
	sized(c, 0.93)
	c.add(oneCase, 20*day, casebook.WoundMeasured{Wound: "A", AreaCm2: p(20.0), Method: "tracing"})
	c.add(oneCase, 30*day, casebook.WoundMeasured{Wound: "A", LengthCm: p(9.0), WidthCm: p(5.0), Method: "ruler", Convention: "longest and widest"})
	body := c.get(page.WoundPath(oneCase, "A")).Body.String()
	for _, want := range []string{"brought to the scale of a traced outline", "divided by 1.10", "factor times π/4", "1 area: the area was taken as “longest and widest”"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

// TestDecisionPage: what was ordered, delivered and answered is laid out; a decision is written with its reasons and what
// is not certain; its day shows on the case and becomes a finding once it has passed.
func TestDecisionPage(t *testing.T) {
	c := newClient(t)
	sized(c, 1.0)
	path := page.CasePath(oneCase, "decision")
	body := c.get(path).Body.String()
	for _, want := range []string{"Lowtide recommends nothing here", "No decision is recorded.", "125 mmHg", "every 60 h", "Hours under suction", "not known: entries name single moments", "Goal met, wound A", "No measurable progress, wound A", "called from 50 %",
		"Contraindication", "The patient&#39;s wish", "The payer ends", "Off-loading", "Nutrition", "Hourigan 2010", "has probably not become smaller", "What is not certain"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	f := c.open(path)
	// Without reasons, what is not certain and a day nothing is written.
	n := len(c.entries(oneCase))
	w := c.post(f.action, c.fill(f, url.Values{"choice": {"continue"}, "by": {"Dr One"}}).values)
	for _, field := range []string{"reasons", "unsure"} {
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `id="f-`+field+`-wrong"`) {
			t.Errorf("%d, nothing is said about %s", w.Code, field)
		}
	}
	if len(c.entries(oneCase)) != n {
		t.Fatal("a decision without reasons was written")
	}
	f = c.fill(c.open(path), url.Values{"choice": {"continue"}, "by": {"Dr One"}, "reasons": {"bed is clean"}, "unsure": {"ruler only"}, "next_at": {"2026-03-17T12:00"}, "tried": {"off-loading"}})
	c.send(f)
	list := c.entries(oneCase)
	d, ok := list[len(list)-1].Body.(casebook.DecisionMade)
	if !ok || d.By != "Dr One" || d.Reasons != "bed is clean" || d.Unsure != "ruler only" || d.NextAt == nil || len(d.Tried) != 1 {
		t.Fatalf("written: %+v", list[len(list)-1].Body)
	}
	if body := c.get(page.CasePath(oneCase)).Body.String(); !strings.Contains(body, "The next decision is due by Tue 17 Mar 12:00") || strings.Contains(body, "STP-DECIDE-01") {
		t.Error("the case does not say when the next decision is due")
	}
	c.now = c.now.Add(8 * day)
	link, err := c.srv.NewLink()
	if err != nil {
		t.Fatal(err)
	}
	c.cookie = nil
	c.cookie = c.get(link).Result().Cookies()[0]
	if body := c.get(page.CasePath(oneCase) + "?part=why").Body.String(); !strings.Contains(body, "STP-DECIDE-01") || !strings.Contains(body, "was to be looked at again by") {
		t.Error("a decision that is due shows no finding")
	}
	if body := c.get(path).Body.String(); !strings.Contains(body, "Last decided: continue, by Dr One") || !strings.Contains(body, "was due by") {
		t.Error("the page does not say what was decided last")
	}
}
