package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/web/page"
)

// desk is somebody at a browser who answers calls: a page at a time, with the fields that the page holds.
type desk struct {
	t    testing.TB
	get  func(string) *httptest.ResponseRecorder
	post func(string, url.Values) *httptest.ResponseRecorder
	at   string
	body string
}

func (d *desk) open(path string) {
	d.t.Helper()
	w := d.get(path)
	if w.Code == http.StatusSeeOther {
		path = w.Header().Get("Location")
		w = d.get(path)
	}
	if w.Code != http.StatusOK {
		d.t.Fatalf("%s: %d %s", path, w.Code, said(w.Body.String()))
	}
	d.at, d.body = path, w.Body.String()
}

var (
	keyField  = regexp.MustCompile(`name="-key" value="([^"]+)"`)
	stepField = regexp.MustCompile(`name="step" value="([^"]+)"`)
	readOut   = regexp.MustCompile(`id="call-say">([^<]*)<`)
)

func first(r *regexp.Regexp, s string) string {
	if m := r.FindStringSubmatch(s); m != nil {
		return m[1]
	}
	return ""
}

func (d *desk) step() string { return first(stepField, d.body) }

// send posts a form of the page with its key and follows to where it leads.
func (d *desk) send(form url.Values) *httptest.ResponseRecorder {
	d.t.Helper()
	form.Set("-key", first(keyField, d.body))
	path, _, _ := strings.Cut(d.at, "?")
	w := d.post(path, form)
	if w.Code == http.StatusSeeOther {
		d.open(w.Header().Get("Location"))
	} else {
		d.body = w.Body.String()
	}
	return w
}

// answer presses a button of the step, which must be there.
func (d *desk) answer(value string) {
	d.t.Helper()
	if !strings.Contains(d.body, `name="answer" value="`+value+`"`) {
		d.t.Fatalf("step %q has no button %q", d.step(), value)
	}
	if w := d.send(url.Values{"step": {d.step()}, "answer": {value}}); w.Code != http.StatusSeeOther {
		d.t.Fatalf("answer %q: %d %s", value, w.Code, said(w.Body.String()))
	}
}

func (d *desk) must(parts ...string) {
	d.t.Helper()
	for _, p := range parts {
		if !strings.Contains(said(d.body), p) && !strings.Contains(d.body, p) {
			d.t.Fatalf("%s does not say %q:\n%s", d.at, p, said(d.body))
		}
	}
}

func deskOf(c *client) *desk {
	return &desk{t: c.t, get: c.get, post: c.post}
}

// calm answers the danger questions with no, and since when with the answer.
func (d *desk) calm(off string) {
	d.t.Helper()
	for _, q := range []string{"danger:blood", "danger:breathing", "danger:fever", "danger:pain"} {
		if d.step() != q {
			d.t.Fatalf("step %q, want %q", d.step(), q)
		}
		d.answer("no")
	}
	// With a known risk of bleeding, or a canister full again within hours, somebody looks once more.
	if d.step() == "danger:blood-again" {
		d.answer("no")
	}
	if d.step() != page.CallOffStep {
		d.t.Fatalf("step %q, want the clock", d.step())
	}
	d.answer(off)
}

// TestCallFromStartToEnd: a call about a case, step by step without script, until it is mended; the end is an entry that
// says what was found, and the counts take it in.
func TestCallFromStartToEnd(t *testing.T) {
	c := newClient(t)
	patients(c)
	d := deskOf(c)
	d.open("/call?q=ann")
	d.must("Ann Case", "No call is open.")
	d.open(page.CasePath(oneCase, "call"))
	d.send(url.Values{"caller": {"the son"}, "phone": {"0161 496 0000"}})
	d.must("Call from the son about Ann Case", "bright red blood")
	d.calm("30")
	d.must("Filler out by", "13:30", "90 minutes left", "What the case knows")
	c.now = c.now.Add(2 * time.Minute)
	asked := map[string]string{"alarm": "blockage", "tube": "still", "position": "upright", "canister": "low"}
	for range 30 {
		step := d.step()
		if step == "straighten" {
			d.answer("fixed")
			break
		}
		switch {
		case asked[step] != "":
			d.answer(asked[step])
		case strings.Contains(d.body, `value="not fixed"`):
			d.answer("not fixed")
		default:
			d.answer("unknown")
		}
	}
	d.must("End the call", `<option value="kink" selected`, `<option value="on" selected`, `<option value="settled" selected`)
	d.send(url.Values{"do": {"end"}, "ended": {"settled"}, "found": {"kink"}, "therapy": {"on"}})
	d.must("Call ended: settled")
	calls := c.fold(oneCase).Calls
	if len(calls) != 1 || calls[0].Found != "kink" || calls[0].Ended != "settled" || calls[0].OffSince == nil || calls[0].EndedAt == nil {
		t.Fatalf("%+v", calls)
	}
	d.open("/call/found")
	d.must("1 ended call with something found", "1 of 1")
	// It takes nothing more: a form left open on another device is told so.
	d.open(page.CallPath(oneCase, calls[0].ID))
	d.must("This call ended: settled")
	if w := d.send(url.Values{"step": {"hiss"}, "answer": {"port"}}); w.Code != http.StatusConflict && w.Code != http.StatusUnprocessableEntity {
		t.Errorf("an ended call takes an answer: %d", w.Code)
	}
	d.open(page.CasePath(oneCase, "log"))
	d.must("tube followed, clamps opened, fixed")
}

// TestCallDanger: a yes is acted on at once; the danger questions cannot be skipped by ending, nor by a forged step.
func TestCallDanger(t *testing.T) {
	c := newClient(t)
	patients(c)
	d := deskOf(c)
	d.open(page.CasePath(oneCase, "call"))
	d.send(url.Values{})
	call := d.at
	if w := d.send(url.Values{"do": {"end"}, "ended": {"settled"}, "therapy": {"on"}}); w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "danger questions come first") {
		t.Errorf("%d %s", w.Code, said(w.Body.String()))
	}
	d.open(call)
	for _, forged := range []url.Values{{"step": {"danger:thirst"}, "answer": {"no"}}, {"step": {"danger:blood"}, "answer": {"maybe"}}, {"step": {"hiss"}, "answer": {"<b>"}}, {"step": {"straighten"}, "answer": {"said"}}, {"do": {"dance"}},
		{"step": {"canister_expected_pct"}, "answer": {"low"}}, {"step": {page.CallOffStep}, "answer": {"-5"}}, {"do": {"off"}, "off_since": {"2026-03-11T12:00"}}} {
		if w := d.send(forged); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", forged, w.Code)
		}
		d.open(call)
	}
	d.answer("yes")
	if d.step() != "patient:blood" || !strings.HasPrefix(first(readOut, d.body), "Switch the pump off.") {
		t.Fatalf("%s: %s", d.step(), first(readOut, d.body))
	}
	d.must("Bleeding", "stands first because a danger answer is yes")
	d.answer("said")
	for _, q := range []string{"breathing", "fever", "pain"} {
		if d.step() != "danger:"+q {
			t.Fatalf("%s", d.step())
		}
		d.answer("no")
	}
	if d.step() != "danger:blood-again" {
		t.Fatalf("a known risk of bleeding, and the next step is %s", d.step())
	}
	d.answer("no")
	// No check of the pump is offered any more.
	if strings.Contains(d.body, `name="answer"`) {
		t.Errorf("after blood the page still asks %s", d.step())
	}
	d.must(`<option value="emergency help" selected`)
	d.send(url.Values{"do": {"end"}, "ended": {"emergency help"}, "found": {"bleeding"}, "therapy": {"off"}})
	d.must("A caller said yes")
}

// TestCallLimit: after two hours without suction the filler comes before every check, and the end wants who comes, and when.
func TestCallLimit(t *testing.T) {
	c := newClient(t)
	patients(c)
	d := deskOf(c)
	d.open(page.CasePath(oneCase, "call"))
	d.send(url.Values{"caller": {"neighbour"}})
	c.now = c.now.Add(time.Second) // of two parts of one instant nobody can tell the later
	d.send(url.Values{"do": {"who"}, "caller": {"the neighbour at no. 9"}, "phone": {"0161 496 0009"}})
	d.must("Call from the neighbour at no. 9 about Ann Case", "0161 496 0009")
	d.calm("120")
	if d.step() != "filler-out" {
		t.Fatalf("%s", d.step())
	}
	d.must("the limit is passed", "Where:")
	d.answer("said")
	w := d.send(url.Values{"do": {"end"}, "ended": {"somebody comes"}})
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "write who, and when") {
		t.Errorf("%d %s", w.Code, said(w.Body.String()))
	}
	d.send(url.Values{"do": {"end"}, "ended": {"somebody comes"}, "comes_who": {"night nurse"}, "comes_at": {"2026-03-10T12:40"}, "therapy": {"off"}})
	k := c.fold(oneCase).Calls[0]
	if k.ComesWho != "night nurse" || k.ComesAt == nil || k.Therapy != "off" || k.Ended != "somebody comes" {
		t.Errorf("%+v", k)
	}
}

// TestCallTwice: a form that is sent twice is kept once, and a changed answer counts.
func TestCallTwice(t *testing.T) {
	c := newClient(t)
	patients(c)
	d := deskOf(c)
	d.open(page.CasePath(oneCase, "call"))
	key := first(keyField, d.body)
	for range 2 {
		c.post(page.CasePath(oneCase, "call"), url.Values{"-key": {key}, "caller": {"son"}})
	}
	calls := c.fold(oneCase).Calls
	if len(calls) != 1 || len(calls[0].Entries) != 1 {
		t.Fatalf("%+v", calls)
	}
	d.open(page.CallPath(oneCase, calls[0].ID))
	form := url.Values{"-key": {first(keyField, d.body)}, "step": {"danger:blood"}, "answer": {"unknown"}}
	for range 2 {
		if w := c.post(d.at, form); w.Code != http.StatusSeeOther {
			t.Errorf("%d", w.Code)
		}
	}
	d.open(d.at + "?again=danger:blood")
	c.now = c.now.Add(time.Minute)
	d.answer("no")
	k := c.fold(oneCase).Calls[0]
	if len(k.Entries) != 3 || k.Answer("danger:blood") != "no" {
		t.Errorf("%+v", k)
	}
	if d.step() != "danger:breathing" {
		t.Errorf("%s", d.step())
	}
	if w := c.post(d.at, url.Values{"-key": {"x"}, "step": {"danger:breathing"}, "answer": {"no"}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a form without its key: %d", w.Code)
	}
}

// TestCallWithoutCase: a call from somebody of whom only a first name is known goes the same way; later it goes on in a
// case, with everything that was said.
func TestCallWithoutCase(t *testing.T) {
	c := newClient(t)
	patients(c)
	d := deskOf(c)
	d.open("/call")
	d.send(url.Values{"patient": {"Bea"}, "caller": {"her daughter"}})
	d.must("Call from her daughter about Bea", "bright red blood")
	call := d.at
	d.calm("15")
	d.must("Nobody to call is recorded.")
	d.answer("leak")
	for _, at := range []string{"/call", "/"} { // nobody misses it on Rounds
		d.open(at)
		d.must("Bea (no case): call from her daughter")
		if !strings.Contains(d.body, `href="`+strings.SplitN(call, "?", 2)[0]) {
			t.Errorf("%s has no way to the call", at)
		}
	}
	d.open(call + "?q=bea")
	d.must("Go on in the case of Bea Other")
	d.send(url.Values{"do": {"link"}, "case": {otherCase}})
	if !strings.HasPrefix(d.at, "/case/"+otherCase+"/call/") {
		t.Fatalf("at %s", d.at)
	}
	d.must("Call from her daughter about Bea Other", "Leak, or suction too low")
	k := c.fold(otherCase).Calls
	if len(k) != 1 || k[0].Answer("alarm") != "leak" || k[0].Answer("danger:pain") != "no" || k[0].OffSince == nil || k[0].Ended != "" {
		t.Fatalf("%+v", k)
	}
	d.open(call)
	if !strings.HasPrefix(d.at, "/case/"+otherCase) {
		t.Errorf("the old address leads to %s", d.at)
	}
	for _, at := range []string{"/call", "/"} {
		d.open(at)
		if strings.Contains(d.body, "(no case)") {
			t.Errorf("the call still stands on %s", at)
		}
	}
	// What was said before goes with the case when that is erased, and not with another case.
	want := []string{casebook.DeskCall(strings.TrimPrefix(call, "/call/"))}
	if also, _, err := c.book.Along(t.Context(), otherCase); err != nil || !slices.Equal(also, want) {
		t.Errorf("erased along with the case: %v, %v; want %v", also, err, want)
	}
	if also, _, err := c.book.Along(t.Context(), oneCase); err != nil || len(also) != 0 {
		t.Errorf("erased along with another case: %v, %v", also, err)
	}
}

// TestCallTakenOver: a call that one nurse began is led on by another on her own device. Who is not on the patient's list
// does not see it.
func TestCallTakenOver(t *testing.T) {
	wd := staffed(t)
	d := &desk{t: t, get: wd.get, post: wd.post}
	wd.signIn("n.east")
	d.open(page.CasePath(oneCase, "call"))
	d.send(url.Values{"caller": {"the son"}})
	call := d.at
	d.answer("no")
	one := wd.jar

	wd.jar = map[string]*http.Cookie{}
	wd.signIn("an.east")
	d.open("/call")
	d.must("Ann Case: call from the son", "by n.east")
	d.open(call)
	if d.step() != "danger:breathing" {
		t.Fatalf("%s", d.step())
	}
	d.answer("no")
	d.must("by an.east")

	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.west")
	d.open("/call")
	if strings.Contains(d.body, "Ann") {
		t.Error("another team sees the patient's name")
	}

	wd.jar = one
	d.open(call)
	if d.step() != "danger:fever" {
		t.Errorf("back on the first device: %s", d.step())
	}
}

// TestHostileCall: what a caller says is shown as text, whatever it holds.
func TestHostileCall(t *testing.T) {
	c := newClient(t)
	patients(c)
	d := deskOf(c)
	d.open("/call")
	d.send(url.Values{"patient": {`<script>alert(1)</script>"'` + strings.Repeat("é", 400)}, "caller": {"\xff\xfe<img src=x>"}})
	if strings.Contains(d.body, "<script>alert") || strings.Contains(d.body, "<img") {
		t.Error("it is markup")
	}
	d.open("/call")
	if strings.Contains(d.body, "<img") || len(d.body) > 100_000 {
		t.Errorf("%d bytes", len(d.body))
	}
	if w := c.get("/call/" + url.PathEscape("../x")); w.Code != http.StatusNotFound {
		t.Errorf("%d", w.Code)
	}
	if w := c.get(page.CallPath(oneCase, "none")); w.Code != http.StatusNotFound {
		t.Errorf("%d", w.Code)
	}
}

// BenchmarkCallPage keeps the budget of a page: 20 ms at the server.
func BenchmarkCallPage(b *testing.B) {
	c := newClient(b)
	patients(c)
	c.add(oneCase, time.Hour, casebook.CallTaken{Call: "c-1", Caller: "son", Answers: []casebook.CallAnswer{{Question: "danger:blood", Answer: "no"}, {Question: "danger:breathing", Answer: "no"}, {Question: "danger:fever", Answer: "no"},
		{Question: "danger:pain", Answer: "no"}, {Question: "alarm", Answer: "leak"}}, Therapy: "off", OffSince: p(noon.Add(-time.Hour))})
	path := page.CallPath(oneCase, "c-1")
	var size int
	for b.Loop() {
		w := c.get(path)
		if w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
		size = w.Body.Len()
	}
	b.ReportMetric(float64(size), "B/page")
}

// TestCallNotSettledWhileBloodOpen: nobody could look for blood. The desk sends somebody to look and asks once more with two
// answers; until then the call cannot be ended as settled, whatever the form says.
func TestCallNotSettledWhileBloodOpen(t *testing.T) {
	c := newClient(t)
	patients(c)
	d := deskOf(c)
	d.open(page.CasePath(oneCase, "call"))
	d.send(url.Values{})
	d.answer("unknown")
	if d.step() != "look:blood" {
		t.Fatalf("%s", d.step())
	}
	d.answer("said")
	if d.step() != "danger:blood" {
		t.Fatalf("after the look: %s", d.step())
	}
	d.must("Yes, or nobody can look")
	c.now = c.now.Add(time.Minute) // of two answers to one question the later one counts
	d.answer("no")
	for _, q := range []string{"danger:breathing", "danger:fever", "danger:pain"} {
		if d.step() != q {
			t.Fatalf("%s, want %s", d.step(), q)
		}
		d.answer("no")
	}
	// The patient takes a drug against clotting: blood is looked for once more, and nobody can.
	if d.step() != "danger:blood-again" {
		t.Fatalf("%s", d.step())
	}
	d.answer("unknown")
	w := d.send(url.Values{"do": {"end"}, "ended": {"settled"}, "therapy": {"on"}, "found": {"kink"}})
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "this call is not settled") {
		t.Errorf("%d %s", w.Code, said(w.Body.String()))
	}
	if k := c.fold(oneCase).Calls[0]; k.Ended != "" {
		t.Errorf("ended: %s", k.Ended)
	}
}
