package trouble

import (
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// tiny is a model small enough to work by hand: two causes that a check each can mend, bleeding, and the leak term.
func tiny() *Model {
	sure := Basis{Sure: "from memory"}
	m := &Model{Hash: strings.Repeat("0", 64), Sources: map[string]string{}}
	for _, s := range []Setting{{Name: "visit_min", Value: 60}, {Name: "visit_ward_min", Value: 10}, {Name: "visit_home_min", Value: 60}, {Name: "swap_min", Value: 20}, {Name: "prior_calls", Value: 10}, {Name: "check_calls", Value: 4}} {
		s.Basis = sure
		m.Settings = append(m.Settings, s)
	}
	for id, p := range map[string]float64{"a": 0.5, "b": 0.2, "bleeding": 0.1, "not-equipment": 0.1, "other": 0.1} {
		m.Causes = append(m.Causes, Cause{ID: id, Words: id, Plain: id, Prior: p, Stated: p, Basis: sure})
	}
	slices.SortFunc(m.Causes, func(x, y Cause) int { return strings.Compare(x.ID, y.ID) })
	m.Checks = []Check{
		{ID: "ca", Say: "do a", Words: "a", Minutes: 2, Finds: map[string]float64{"a": 0.8}, Basis: sure},
		{ID: "cb", Say: "do b", Words: "b", Minutes: 5, Finds: map[string]float64{"b": 1}, Basis: sure},
	}
	m.Dangers = []Danger{{ID: "blood", Words: "blood", Ask: "blood?", Yes: "press", Unknown: "look", Stop: true, Usual: 0.5, Basis: sure}}
	return m
}

func quiet() State { return State{Danger: map[string]string{"blood": No}, Runs: true, OffLimitH: 2} }

func problems(m *Model) (found Problems) {
	m.check(&found)
	return found
}

// TestNextCheck: 0.5 · 0.8 of the first cause are mended in 2 minutes, then 0.2 in 5; a visit of 60 minutes is for the
// rest: 2 + 0.6·5 + 0.4·60 = 29.
func TestNextCheck(t *testing.T) {
	m := tiny()
	a := m.Advise(quiet())
	if a.Next.Kind != "check" || a.Next.Check != "ca" || a.Next.Why != "the chance that it mends it is one in three" || !slices.Equal(a.Then, []string{"cb"}) || !near(a.MinutesLeft, 29, 1e-9) {
		t.Errorf("%+v", a)
	}
	if len(a.Danger) != 1 || a.Danger[0].ID != "blood" {
		t.Errorf("%+v", a.Danger)
	}
	one := tiny()
	one.Checks = one.Checks[:1]
	if n := one.Advise(quiet()).Next; n.Kind != "check" || n.Check != "ca" {
		t.Errorf("one check: %+v", n)
	}
	m.Checks[0].Minutes = 2.25
	if got := m.Advise(quiet()).Next.Why; got != "the chance that it mends it is one in three" {
		t.Errorf("%q", got)
	}
	s := quiet()
	s.Checks = []Outcome{{"ca", NotFixed}, {"cb", CouldNotDo}}
	if a := m.Advise(s); a.Next.Kind != Visit || a.Next.Minutes != 60 || a.MinutesLeft != 60 {
		t.Errorf("nothing left: %+v", a.Next)
	}
	// Half a minute on foot is a visit; none is not known and takes the setting.
	s.VisitMin = 0.5
	if a := m.Advise(s); a.MinutesLeft != 0.5 {
		t.Errorf("next door: %+v", a)
	}
}

// TestEqualChances: the one that stands first in the file comes first.
func TestEqualChances(t *testing.T) {
	m := tiny()
	m.Causes[1].Prior = 0.5
	m.Checks[0].Finds, m.Checks[1].Finds = map[string]float64{"a": 1}, map[string]float64{"b": 1}
	m.Checks[0].Minutes = 5
	p := make([]float64, 5)
	p[0], p[1] = 0.5, 0.5
	if order, _ := m.planner(60).plan(p, []int{0, 1}); !slices.Equal(order, []int{0, 1}) {
		t.Errorf("%v", order)
	}
	// A thousandth more for its minutes comes first.
	p[0], p[1] = 0.4999, 0.5001
	if order, _ := m.planner(60).plan(p, []int{0, 1}); !slices.Equal(order, []int{1, 0}) {
		t.Errorf("%v", order)
	}
	p[0], p[1] = 0.25, 0.25
	ranked := m.rank(p, State{Danger: map[string]string{"blood": No}})
	if ranked[0].ID != "a" || ranked[1].ID != "b" || ranked[0].Chance != 0.25 {
		t.Errorf("%+v", ranked)
	}
	p[1] = 0.3
	if ranked := m.rank(p, State{Danger: map[string]string{"blood": No}}); ranked[0].ID != "b" {
		t.Errorf("%+v", ranked)
	}
}

// TestWorthItsMinutes: a check that costs just what it saves is not done: 6 + 0.9·60 = 60. One that finds one in a
// hundred is, where the visit takes 1,000 minutes: 2 + 0.99·1000 = 992.
func TestWorthItsMinutes(t *testing.T) {
	m := tiny()
	m.Checks = m.Checks[:1]
	m.Checks[0].Finds = map[string]float64{"a": 1}
	for _, x := range []struct {
		minutes, p, visit, want float64
		kept                    int
	}{{6, 0.1, 60, 60, 0}, {5.9, 0.1, 60, 59.9, 1}, {2, 0.01, 1000, 992, 1}, {2, 0, 1000, 1000, 0}} {
		m.Checks[0].Minutes = x.minutes
		order, e := m.planner(x.visit).plan([]float64{x.p, 1 - x.p, 0, 0, 0}, []int{0})
		if len(order) != x.kept || !near(e, x.want, 1e-9) {
			t.Errorf("%+v: %v, %g", x, order, e)
		}
	}
}

// TestWorthAsking: two causes, alike, with a check of ten minutes each: 10 + 0.5·10 = 15. A question that tells them apart
// leaves 10, so it saves 5: it is asked while it takes less.
func TestWorthAsking(t *testing.T) {
	m := tiny()
	m.Checks[0].Minutes, m.Checks[1].Minutes = 10, 10
	m.Checks[0].Finds, m.Checks[1].Finds = map[string]float64{"a": 1}, map[string]float64{"b": 1}
	p := []float64{0.5, 0.5, 0, 0, 0}
	tell := map[string][]float64{"a": {1, 0}, "b": {0, 1}}
	for minutes, want := range map[float64]bool{4.5: true, 4.9975: true, 5.01: false, 5.6: false} {
		m.Signs = []Sign{{ID: "s", Ask: "which?", Minutes: minutes, Answers: []Answer{{"x", "x"}, {"y", "y"}}, Usual: []float64{0.5, 0.5}, Given: tell}}
		q, ok := m.planner(60).ask(p, quiet(), []int{0, 1}, 15)
		if ok != want || ok && !near(q.saves, 5, 1e-9) {
			t.Errorf("%g min: %v, %+v", minutes, ok, q)
		}
	}
	m.Signs[0].Minutes = 1
	s := quiet()
	s.Signs = map[string]string{"s": Unknown}
	if _, ok := m.planner(60).ask(p, s, []int{0, 1}, 15); ok {
		t.Error("what was answered is asked again")
	}
	m.Signs[0].Ask = ""
	if _, ok := m.planner(60).ask(p, quiet(), []int{0, 1}, 15); ok {
		t.Error("what only a case tells is asked")
	}
	// Of two the one that saves more for its minutes.
	m.Signs = []Sign{{ID: "slow", Ask: "?", Minutes: 4, Answers: []Answer{{"x", "x"}, {"y", "y"}}, Given: tell, Usual: []float64{0.5, 0.5}}, {ID: "quick", Ask: "?", Minutes: 2, Answers: []Answer{{"x", "x"}, {"y", "y"}}, Given: tell, Usual: []float64{0.5, 0.5}}}
	if q, ok := m.planner(60).ask(p, quiet(), []int{0, 1}, 15); !ok || q.sign != 1 {
		t.Errorf("%+v", q)
	}
}

// TestClockNeedsItsLimit: half an hour is a limit; none is a bug of the caller.
func TestClockNeedsItsLimit(t *testing.T) {
	off := time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC)
	if k := tiny().clock(State{OffLimitH: 0.5, OffSince: off, AsOf: off}); !k.LimitAt.Equal(off.Add(30 * time.Minute)) {
		t.Errorf("%+v", k)
	}
	defer func() {
		if recover() == nil {
			t.Error("a clock without a limit")
		}
	}()
	tiny().clock(State{OffSince: off, AsOf: off})
}

// TestLeft: what was tried in any way is not tried again.
func TestLeft(t *testing.T) {
	m := tiny()
	if got := m.left(State{Checks: []Outcome{{"ca", CouldNotDo}}}); !slices.Equal(got, []int{1}) {
		t.Errorf("%v", got)
	}
}

// TestFound: after a check that mended it the cause is the likeliest that the check mends.
func TestFound(t *testing.T) {
	m := tiny()
	m.Checks[0].Finds = map[string]float64{"a": 0.8, "b": 0.5, "other": 0}
	for _, x := range []struct {
		checks []Outcome
		found  string
	}{
		{[]Outcome{{"ca", Fixed}}, "a"}, {[]Outcome{{"ca", NotFixed}, {"cb", Fixed}}, "b"}, {[]Outcome{{"cb", Fixed}, {"ca", CouldNotDo}}, "b"}, {[]Outcome{{"ca", Fixed}, {"cb", Fixed}}, "b"}, {[]Outcome{{"of a later model", Fixed}}, "other"},
	} {
		s := quiet()
		s.Checks = x.checks
		if a := m.Advise(s); a.Found != x.found || a.Next.Kind != End || a.MinutesLeft != 0 || len(a.Then) != 0 {
			t.Errorf("%v: %+v", x.checks, a)
		}
		s.Checks = append([]Outcome(nil), x.checks...)
		for i := range s.Checks {
			s.Checks[i].Result = NotFixed
		}
		if a := m.Advise(s); a.Found != "" || a.Next.Kind == End {
			t.Errorf("%v, not fixed: %+v", x.checks, a)
		}
	}
	for _, x := range []struct {
		p    []float64
		want string
	}{{[]float64{0.005, 0, 0.5, 0.2, 0.2}, "a"}, {[]float64{0.2, 0.3, 0.5, 0, 0}, "b"}, {[]float64{0.25, 0.25, 0.5, 0, 0}, "a"}, {[]float64{0, 0, 1, 0, 0}, "other"}, {[]float64{0, 0, 0.5, 0, 0.5}, "other"}} {
		if got := m.found(x.p, "ca"); got != x.want {
			t.Errorf("%v: %s", x.p, got)
		}
	}
}

// TestStepsForThePatient: a danger answer has its step first. Once that was read out, a yes ends the call, and what was not
// known is asked again.
func TestStepsForThePatient(t *testing.T) {
	m := tiny()
	for _, x := range []struct{ answer, step, then string }{{Yes, "patient:blood", End}, {Unknown, "look:blood", "danger:blood"}} {
		s := State{Danger: map[string]string{"blood": x.answer}, Runs: true, OffLimitH: 2}
		if n := m.Advise(s).Next; n.Kind != "patient" || n.Check != x.step || n.Minutes != 0.5 {
			t.Errorf("%s: %+v", x.answer, n)
		}
		s.Checks = []Outcome{{x.step, Said}}
		if n := m.Advise(s).Next; n.Check != x.then {
			t.Errorf("%s, said: %+v", x.answer, n)
		}
	}
	if n := m.Advise(State{Runs: true, OffLimitH: 2}).Next; n.Kind != "danger" || n.Minutes != 0.5 {
		t.Errorf("%+v", n)
	}
	m.Dangers = append(m.Dangers, Danger{ID: "pain", Words: "pain", Ask: "pain?", Yes: "rest", Unknown: "look", Usual: 0.5, Basis: Basis{Sure: "from memory"}})
	s := State{Danger: map[string]string{"blood": No, "pain": Unknown}, Runs: true, OffLimitH: 2, Checks: []Outcome{{"look:pain", Said}}}
	if n := m.Advise(s).Next; n.Kind != "check" {
		t.Errorf("a look that stops nothing: %+v", n)
	}
}

// TestClockEdges: off since now is off, off since later is a mistake of the clock. A visit of 60 minutes and 20 for the
// change let somebody set out 40 minutes after therapy went off.
func TestClockEdges(t *testing.T) {
	m := tiny()
	off := time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC)
	for _, x := range []struct {
		after           time.Duration
		passed, callNow bool
		says            string
	}{
		{-time.Second, false, false, "check the time"}, {0, false, false, "At the limit of 2 h"}, {30 * time.Second, false, false, "At the limit of 2 h"},
		{40*time.Minute - time.Second, false, false, "At the limit"}, {40 * time.Minute, false, true, "Call whoever"}, {2*time.Hour - time.Second, false, true, "Call whoever"}, {2 * time.Hour, true, true, "2 h or more"},
	} {
		k := m.clock(State{OffLimitH: 2, OffSince: off, AsOf: off.Add(x.after)})
		if !k.Known || k.Passed != x.passed || k.CallNow != x.callNow || !strings.Contains(k.Words, x.says) || !near(k.OffMin, x.after.Minutes(), 1e-9) {
			t.Errorf("%s: %+v", x.after, k)
		}
	}
	if k := m.clock(State{OffLimitH: 2, OffSince: off, AsOf: off, VisitMin: 0.5}); !k.LeaveBy.Equal(off.Add(99*time.Minute + 30*time.Second)) {
		t.Errorf("next door: %s", k.LeaveBy)
	}
}

// TestModelIsChecked: each number just inside and just outside of what the formulas bear.
func TestModelIsChecked(t *testing.T) {
	if found := problems(tiny()); len(found) > 0 {
		t.Fatal(found)
	}
	sign := Sign{ID: "s", Ask: "?", Minutes: 1, Answers: []Answer{{"x", "x"}, {"y", "y"}, {"z", "z"}}, Usual: []float64{0.2, 0.3, 0.5}, Basis: Basis{Sure: "from memory"}}
	with := func(change func(*Sign)) func(*Model) {
		return func(m *Model) {
			s := sign
			s.Usual = slices.Clone(s.Usual)
			change(&s)
			m.Signs = []Sign{s}
		}
	}
	for name, x := range map[string]struct {
		change func(*Model)
		ok     bool
	}{
		"a setting of nought": {func(m *Model) { m.Settings[0].Value = 0 }, false}, "of a half": {func(m *Model) { m.Settings[0].Value = 0.5 }, true}, "of 100,000": {func(m *Model) { m.Settings[0].Value = 100000 }, true},
		"of 100,001": {func(m *Model) { m.Settings[0].Value = 100001 }, false}, "without end": {func(m *Model) { m.Settings[0].Value = math.Inf(1) }, false},
		"priors a ten-thousandth too much": {func(m *Model) { m.Causes[0].Prior += 1e-4 }, false}, "priors as rounded": {func(m *Model) { m.Causes[0].Prior += 1e-10 }, true},
		"no danger question": {func(m *Model) { m.Dangers = nil }, false},
		"a check of no time": {func(m *Model) { m.Checks[0].Minutes = 0 }, false}, "of half a minute": {func(m *Model) { m.Checks[0].Minutes = 0.5 }, true}, "of 1,000 minutes": {func(m *Model) { m.Checks[0].Minutes = 1000 }, true}, "of 1,001": {func(m *Model) { m.Checks[0].Minutes = 1001 }, false},
		"finds it never": {func(m *Model) { m.Checks[0].Finds["a"] = 0 }, true}, "finds it always": {func(m *Model) { m.Checks[0].Finds["a"] = 1 }, true}, "finds it more than always": {func(m *Model) { m.Checks[0].Finds["a"] = 1.5 }, false}, "less than never": {func(m *Model) { m.Checks[0].Finds["a"] = -0.5 }, false},
		"a danger that is never": {func(m *Model) { m.Dangers[0].Usual = 0 }, false}, "always": {func(m *Model) { m.Dangers[0].Usual = 1 }, false}, "more than always": {func(m *Model) { m.Dangers[0].Usual = 1.5 }, false},
		"a sign": {with(func(s *Sign) {}), true}, "with edges": {with(func(s *Sign) { s.Edges = []float64{1, 2} }), true}, "with one edge of two": {with(func(s *Sign) { s.Edges = []float64{1} }), false}, "with falling edges": {with(func(s *Sign) { s.Edges = []float64{2, 1} }), false},
		"with one answer": {with(func(s *Sign) { s.Answers, s.Usual = s.Answers[:1], []float64{0.5} }), false}, "with two": {with(func(s *Sign) { s.Answers, s.Usual = s.Answers[:2], []float64{0.5, 0.5} }), true},
		"with chances a ten-thousandth too much": {with(func(s *Sign) { s.Usual[0] += 1e-4 }), false}, "with chances as rounded": {with(func(s *Sign) { s.Usual[0] += 1e-10 }), true},
	} {
		m := tiny()
		x.change(m)
		if found := problems(m); (len(found) == 0) != x.ok {
			t.Errorf("%s: %v", name, found)
		}
	}
	one := sign
	one.Answers, one.Usual = one.Answers[:1], []float64{1 - 1e-12}
	m := tiny()
	m.Signs = []Sign{one}
	if found := problems(m); len(found) != 1 || !strings.Contains(found.Error(), "fewer than two answers") {
		t.Errorf("one answer: %v", found)
	}
}

// TestOneProblemIsEnough: a model with a single fault does not load.
func TestOneProblemIsEnough(t *testing.T) {
	files := fstest.MapFS{}
	for _, name := range parts {
		raw, err := fs.ReadFile(data, "data/"+name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: raw}
	}
	if _, err := Load(files); err != nil {
		t.Fatal(err)
	}
	files[parts[0]].Data = append(slices.Clone(files[parts[0]].Data), []byte("\nnonsense = 1\n")...)
	if m, err := Load(files); err == nil || m != nil {
		t.Error("a key that nobody knows loads")
	}
}

// TestLocalNumbers: what a local file changes, it changes, and nothing else.
func TestLocalNumbers(t *testing.T) {
	m := tiny()
	m.Signs = []Sign{{ID: "s", Ask: "?", Minutes: 1, Answers: []Answer{{"x", "x"}, {"y", "y"}}, Usual: []float64{0.5, 0.5}, Basis: Basis{Sure: "from memory"}},
		{ID: "known", FromCase: true, Answers: []Answer{{"x", "x"}, {"y", "y"}}, Usual: []float64{0.5, 0.5}, Basis: Basis{Sure: "from memory"}}}
	local := func(text string) (*Model, error) { return m.WithLocal([]byte("name = \"here\"\n" + text)) }
	for text, ok := range map[string]bool{
		"": true, "emergency = \"" + strings.Repeat("1", 40) + "\"": true, "emergency = \"" + strings.Repeat("1", 41) + "\"": false,
		"[setting]\nswap_min = 0": false, "[setting]\nswap_min = 1": true, "[setting]\noff_limit_h = 1": false, // that is the rules' number
		"[prior]\na = 0": false, "[prior]\na = 1": false, "[prior]\na = 0.9": true, "[prior]\na = 1.5": false, "[prior]\nnobody = 0.5": false,
		"[sign.s]\nask = \"Which?\"": true, "[sign.known]\nask = \"Which?\"": false, "[sign.known]\nusual = [0.4, 0.6]": true,
		"[check.ca]\nminutes = 0": false, "[check.ca]\nminutes = 3": true,
	} {
		if got, err := local(text); (err == nil) != ok || (got != nil) != ok {
			t.Errorf("%q: %v", text, err)
		}
	}
	// 0.9 beside the others' 0.5 is 0.9/1.4.
	if got, err := local("[prior]\na = 0.9"); err != nil || !near(got.Cause("a").Prior, 0.9/1.4, 1e-12) || !near(got.Cause("b").Prior, 0.2/1.4, 1e-12) || !got.Cause("a").Local || got.Cause("b").Local {
		t.Errorf("%v", err)
	}
	for name, where := range map[string]bool{"off_limit_h": true, "nobody_h": false} {
		if _, err := local("[setting]\n" + name + " = 1"); err == nil || strings.Contains(err.Error(), "protocol.toml") != where {
			t.Errorf("%s: %v", name, err)
		}
	}
	check := func(text string) *Check {
		got, err := local(text)
		if err != nil {
			t.Fatal(text, err)
		}
		return got.Check("ca")
	}
	if c := check("[check.ca]\nminutes = 3"); c.Minutes != 3 || c.Finds["a"] != 0.8 || !c.Local || c.Say != "do a" {
		t.Errorf("minutes: %+v", c)
	}
	if c := check("[check.ca.finds]\nb = 0.3"); c.Minutes != 2 || c.Finds["a"] != 0.8 || c.Finds["b"] != 0.3 || !c.Local {
		t.Errorf("finds: %+v", c)
	}
	if c := check("[check.ca]\nsay = \"faites a\""); c.Minutes != 2 || c.Local || c.Say != "faites a" {
		t.Errorf("words: %+v", c)
	}
	if _, changed := m.Checks[0].Finds["b"]; changed {
		t.Error("the model itself was changed")
	}
	got, err := local("[sign.s]\nminutes = 2\nask = \"Which?\"\n[sign.s.given]\na = [0.9, 0.1]")
	if err != nil {
		t.Fatal(err)
	}
	if s := got.Sign("s"); s.Minutes != 2 || s.Ask != "Which?" || s.Chance(0, "a") != 0.9 || s.Chance(0, "b") != 0.5 || !s.Local {
		t.Errorf("%+v", s)
	}
	if s := m.Sign("s"); s.Minutes != 1 || s.Given != nil {
		t.Errorf("the model itself was changed: %+v", s)
	}
}

// TestBand: an edge belongs to the band above it.
func TestBand(t *testing.T) {
	s := Sign{Answers: []Answer{{"low", ""}, {"part", ""}, {"full", ""}}, Edges: []float64{50, 90}}
	for x, want := range map[float64]string{0: "low", 49.9: "low", 50: "part", 89.9: "part", 90: "full", 300: "full"} {
		if got, ok := s.Band(x, nil); !ok || got != want {
			t.Errorf("%g: %s", x, got)
		}
	}
	if _, ok := s.Band(math.NaN(), nil); ok {
		t.Error("not a number has a band")
	}
	if _, ok := (&Sign{Answers: s.Answers}).Band(1, nil); ok {
		t.Error("a sign without edges has a band")
	}
	one := Sign{Answers: s.Answers[:2], Edges: []float64{1}}
	if got, ok := one.Band(0.5, nil); !ok || got != "low" {
		t.Errorf("%s", got)
	}
}

// TestCountedByHand: prior 0.5 worth ten calls, found in 3 of 5: (5 + 3)/15. The check's 0.8 is worth four: mended in 3 of
// 5 it is (3.2 + 3)/9; for a cause it was not meant for, mended once of two tries, 1/6.
func TestCountedByHand(t *testing.T) {
	m := tiny()
	var y Tally
	y.Add(Tally{Calls: 1, Found: map[string]int{"a": 1}, Tried: map[string]map[string]Tried{"ca": {"a": {Fixed: 1}}}})
	for range 2 {
		y.Count(m, Ended{"a", []Outcome{{"ca", Fixed}, {"cb", CouldNotDo}}})
	}
	y.Count(m, Ended{"b", []Outcome{{"ca", Fixed}, {"unknown", Fixed}}})
	y.Count(m, Ended{"b", []Outcome{{"ca", NotFixed}}})
	y.Tried["ca"]["a"] = Tried{Fixed: y.Tried["ca"]["a"].Fixed, Not: y.Tried["ca"]["a"].Not + 2}
	y.Tried["cb"] = map[string]Tried{"a": {Not: 2}}
	c := m.Counted(y)
	if c.Calls != 5 || !near(c.Cause("a").Prior, 8./15, 1e-12) || !near(c.Cause("b").Prior, 4./15, 1e-12) || !near(c.Cause("other").Prior, 1./15, 1e-12) {
		t.Errorf("%d calls: %+v", c.Calls, c.Causes)
	}
	if f := c.Check("ca").Finds; !near(f["a"], 6.2/9, 1e-12) || !near(f["b"], 1./6, 1e-12) || len(f) != 2 {
		t.Errorf("%v", f)
	}
	if f := c.Check("cb").Finds; f["b"] != 1 || len(f) != 1 {
		t.Errorf("never mended: %v", f)
	}
	if f := m.Counted(Tally{Calls: 1, Tried: map[string]map[string]Tried{"cb": {"b": {Not: 1}}}}).Check("cb").Finds; !near(f["b"], 4./5, 1e-12) {
		t.Errorf("failed once: %v", f)
	}
	if got := c.TriedFor("cb", "a"); got != (Tried{Not: 2}) {
		t.Errorf("%+v", got)
	}
}
