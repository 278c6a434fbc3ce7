package web_test

import (
	"encoding/xml"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/web/page"
)

// TestBench: the Bench answers without script, with the figures of the engine and a table behind each chart.
func TestBench(t *testing.T) {
	c := newClient(t)
	patients(c)
	body := c.get("/bench").Body.String()
	for _, want := range []string{`<form method="get" action="/bench"`, `name="a1s" value="125"`, "Every stage is reached at the wound.", "Program A: suction over time", "ambient", "Largest leak at which it holds"} {
		if !strings.Contains(body, want) {
			t.Errorf("the Bench lacks %q", want)
		}
	}
	if strings.Contains(body, "order draft") {
		t.Error("a draft is offered where there is no case")
	}
	// Two programs: the shallow stage under a tight seal is out of reach, and the page says so.
	q := url.Values{"a1s": {"110"}, "a1h": {"4"}, "a2s": {"60"}, "a2h": {"3"}, "b1s": {"125"}, "leak": {"1"}, "hours": {"2"}, "band": {"yes"}}
	body = c.get("/bench?" + q.Encode()).Body.String()
	for _, want := range []string{"Program B", "not reached", `<th scope="col">2: 60 mmHg</th>`, `<th scope="row">Would settle at</th><td>110 mmHg</td><td>60 mmHg</td>`,
		"With the canister half full", " mmHg at the wound, ", "cannot lose its suction within the hold", "Tinted: the spread", "Spread, mmHg", `value="60"`} {
		if !strings.Contains(body, want) {
			t.Errorf("two programs: no %q", want)
		}
	}
	// The part is the same as in the page, and nothing else.
	part := c.get("/bench?" + q.Encode() + "&part=result").Body.String()
	if strings.Contains(part, "<form") || strings.Contains(part, "<html") || !strings.Contains(body, strings.TrimSpace(part)) {
		t.Error("the part is not the page's part")
	}
	d := xml.NewDecoder(strings.NewReader("<x>" + part + "</x>"))
	d.Entity = xml.HTMLEntity
	for {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatalf("the part is not well formed: %v", err)
		}
	}
	if n := len(c.entries(oneCase)); n != len(c.fold(oneCase).Log) {
		t.Error("the Bench wrote something")
	}
}

// TestBenchProblems: what cannot be computed comes back as typed, with what to mend, and is never computed as
// something else.
func TestBenchProblems(t *testing.T) {
	c := newClient(t)
	patients(c)
	for name, x := range map[string]struct {
		q    url.Values
		says string
	}{
		"no number":       {url.Values{"a1s": {"125"}, "leak": {"much"}}, "Leak at 125 mmHg: write a number from 0 to 20000 mL/min."},
		"too deep":        {url.Values{"a1s": {"9999"}}, "Program A, Stage 1: suction: write a number from 0 to 750 mmHg."},
		"not finite":      {url.Values{"a1s": {"125"}, "height": {"NaN"}}, "Pump above the wound: write a number from -500 to 500 cm."},
		"infinite":        {url.Values{"a1s": {"125"}, "leak": {"1e999"}}, "Leak at 125 mmHg: write"},
		"no program":      {url.Values{"a1s": {""}}, "Program A has no stage."},
		"no hold":         {url.Values{"a1s": {"125"}, "a2s": {"50"}, "a2h": {"3"}}, "Program A, Stage 1: hold: with several stages each needs a hold."},
		"more than fits":  {url.Values{"a1s": {"125"}, "canister": {"300"}, "fluid": {"400"}}, "There is more fluid than the canister holds."},
		"script in there": {url.Values{"a1s": {"125"}, "leak": {`"><script>alert(1)</script>`}}, "Leak at 125 mmHg: write"},
	} {
		w := c.get("/bench?" + x.q.Encode())
		body := w.Body.String()
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, x.says) || strings.Contains(body, "Figures</h2>") || strings.Contains(body, "<script>alert") {
			t.Errorf("%s: %d, says it: %v", name, w.Code, strings.Contains(body, x.says))
		}
	}
	if w := c.get("/bench?a1s=125&x=" + strings.Repeat("x", 5000)); w.Code != http.StatusRequestURITooLong {
		t.Errorf("a long address: %d", w.Code)
	}
	// Extremes of every number give an answer in words and no broken number.
	for _, q := range []string{"a1s=0", "a1s=750", "a1s=125&leak=20000", "a1s=125&canister=300&fluid=300", "a1s=125&bulk=0", "a1s=125&altitude=11000", "a1s=125&height=-500&liquid=100", "a1s=200&a1h=0.1&a2s=0&a2h=0.1&hours=24", "a1s=125&bore=0.5&tube=30&leak=500", "a1s=125&vent=10000&a1h=1&a2s=20&a2h=1", "a1s=125&canister=400&fluid=399.9&leak=1500&hours=24&a1h=0.3&a2s=50&a2h=0.1"} {
		w := c.get("/bench?band=yes&" + q)
		if body := w.Body.String(); w.Code != http.StatusOK || strings.Contains(body, "NaN") || strings.Contains(body, "Inf") {
			t.Errorf("%s: %d", q, w.Code)
		}
	}
}

// TestCaseBench: the Bench of a case starts from its order, canister and class, and hands a program to the form of
// an order, where a person saves it or does not.
func TestCaseBench(t *testing.T) {
	c := newClient(t)
	patients(c)
	c.add(oneCase, day, casebook.CanisterRead{VolumeML: p(120.0)})
	body := c.get(page.CasePath(oneCase, "bench")).Body.String()
	for _, want := range []string{"Taken from the case: class of pump, canister size, canister reading, the order&#39;s stages", `name="canister" value="300"`, `name="fluid" value="120"`, `name="a1s" value="125"`, "Keep program A as an order draft"} {
		if !strings.Contains(body, want) {
			t.Errorf("no %q", want)
		}
	}
	n := len(c.entries(oneCase))
	q := url.Values{"a1s": {"110"}, "a1h": {"4"}, "a2s": {""}, "a3s": {"60"}, "a3h": {"3"}, "filler": {"gauze"}, "keep": {"a"}}
	to := page.CasePath(oneCase, "add", "order.written") + "?" + q.Encode()
	w := c.get(to)
	f := c.fill(c.open(to), url.Values{})
	if f.values.Get("stages/0/suction_mmHg") != "110" || f.values.Get("stages/0/hold_min") != "4" || f.values.Get("stages/1/suction_mmHg") != "60" || f.values.Get("stages/1/hold_min") != "3" || f.values.Get("filler") != "gauze" {
		t.Errorf("the draft: %v", f.values)
	}
	if !strings.Contains(w.Body.String(), "Nothing is ordered yet") {
		t.Error("the form does not say that it is a draft")
	}
	if len(c.entries(oneCase)) != n || c.fold(oneCase).Order().Body.Stages[0].SuctionMmHg != 125 {
		t.Error("a draft changed the order")
	}
	// Nothing of the Bench goes into another kind of entry.
	if body := c.get(page.CasePath(oneCase, "add", "canister.read") + "?" + q.Encode()).Body.String(); strings.Contains(body, "110") {
		t.Error("the Bench reached another form")
	}
}

// TestCaseShowsForecasts: the case's page shows what the models tell, with how it came about, or why not.
func TestCaseShowsForecasts(t *testing.T) {
	c := newClient(t)
	patients(c)
	if body := c.get(page.CasePath(oneCase)).Body.String(); !strings.Contains(body, "Cannot forecast: no battery level is recorded.") || strings.Contains(body, "time-mean by the model") {
		t.Error("what is not known is not said")
	}
	c.add(oneCase, time.Hour, casebook.CanisterRead{VolumeML: p(120.0)}, casebook.PowerNoted{BatteryPct: p(70.0), PluggedIn: p(false)})
	body := c.get(page.CasePath(oneCase)).Body.String()
	for _, want := range []string{"Suction at the wound, time-mean by the model", "Largest leak at which the order holds", "Forecast: battery until the low mark", "four times in five between"} {
		if !strings.Contains(body, want) {
			t.Errorf("no %q", want)
		}
	}
}

// BenchmarkBenchRedraw: budget 100 ms from a moved control to the new picture; this is the server's part of it, for
// two programs with their spread.
func BenchmarkBenchRedraw(b *testing.B) {
	c := newClient(b)
	patients(c)
	for name, q := range map[string]string{
		"one hour":              "hours=1",
		"six hours, large leak": "hours=6&leak=200",
		"a day, typed":          "hours=24",
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				c.get("/bench?part=result&band=yes&a1s=110&a1h=4&a2s=60&a2h=3&b1s=125&b1h=5&b2s=50&b2h=2&" + q)
			}
			b.ReportMetric(float64(b.Elapsed())/float64(time.Millisecond)/float64(b.N), "ms/redraw")
		})
	}
}
