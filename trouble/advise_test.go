package trouble

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var noon = time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)

func calm() map[string]string {
	return map[string]string{"blood": No, "blood-again": No, "breathing": No, "fever": No, "pain": No}
}

// anyState draws a state of the built-in model.
func anyState(t *rapid.T) State {
	m := BuiltIn()
	s := State{AsOf: noon, OffLimitH: 2, Danger: map[string]string{}, Signs: map[string]string{}}
	for _, d := range m.Dangers {
		if v := rapid.SampledFrom([]string{"", Yes, No, No, Unknown, "nonsense"}).Draw(t, d.ID); v != "" {
			s.Danger[d.ID] = v
		}
	}
	for _, g := range m.Signs {
		if k := rapid.IntRange(-2, len(g.Answers)-1).Draw(t, g.ID); k >= 0 {
			s.Signs[g.ID] = g.Answers[k].ID
		} else if k == -1 {
			s.Signs[g.ID] = Unknown
		}
	}
	for range rapid.IntRange(0, 8).Draw(t, "checks") {
		s.Checks = append(s.Checks, Outcome{rapid.SampledFrom(m.Checks).Draw(t, "check").ID, rapid.SampledFrom([]string{NotFixed, NotFixed, CouldNotDo, Fixed}).Draw(t, "result")})
	}
	if rapid.Bool().Draw(t, "read out") {
		for _, d := range m.Dangers {
			s.Checks = append(s.Checks, Outcome{"patient:" + d.ID, Said}, Outcome{"look:" + d.ID, Said})
		}
	}
	if rapid.Bool().Draw(t, "off") {
		s.OffSince = noon.Add(-time.Duration(rapid.IntRange(-60, 400).Draw(t, "minutes off")) * time.Minute)
	}
	return s
}

// TestLawAdvice: whatever is known, the chances are chances; bleeding, "not an equipment problem" and "other" are on the
// list; bleeding stands first while a danger answer is yes or not known; and no question or check comes before the danger
// questions, the patient, and the limit of time off.
func TestLawAdvice(t *testing.T) {
	m := BuiltIn()
	rapid.Check(t, func(t *rapid.T) {
		s := anyState(t)
		a := m.Advise(s)
		sum, on := 0.0, map[string]bool{}
		for _, c := range a.Causes {
			if !(c.Chance >= 0 && c.Chance <= 1) {
				t.Fatalf("chance %v of %s", c.Chance, c.ID)
			}
			sum, on[c.ID] = sum+c.Chance, true
		}
		if math.Abs(sum-1) > 1e-9 || len(a.Causes) != len(m.Causes) || !on["bleeding"] || !on["not-equipment"] || !on["other"] {
			t.Fatalf("sum %v, %d causes", sum, len(a.Causes))
		}
		yes, unknown := m.Open(s)
		if (yes || unknown) && (a.Causes[0].ID != "bleeding" || a.Causes[0].First == "") {
			t.Fatalf("danger yes %v, unknown %v, and first stands %s", yes, unknown, a.Causes[0].ID)
		}
		asked, told, stop := true, true, false
		for _, d := range m.Dangers {
			switch v := s.Danger[d.ID]; v {
			case Yes:
				told = told && s.did("patient:"+d.ID)
				stop = stop || d.Stop
			case Unknown:
				told = told && s.did("look:"+d.ID)
				asked = asked && !d.Stop
			case No:
			case "":
				asked = asked && !d.asks(s)
			default:
				asked = false
			}
		}
		switch k := a.Next.Kind; k {
		case "question", "check", Visit:
			if !asked || !told || stop || a.Clock.Passed || yes && k != Visit {
				t.Fatalf("%s %s: asked %v, told %v, stop %v, limit passed %v", k, a.Next.Check, asked, told, stop, a.Clock.Passed)
			}
		case "filler":
			if !asked || !told || stop || !a.Clock.Passed {
				t.Fatalf("the filler: asked %v, told %v, stop %v, limit passed %v", asked, told, stop, a.Clock.Passed)
			}
		case "danger":
			if asked {
				t.Fatal("a danger question is asked twice")
			}
		}
		if a.Next.Say == "" || a.Next.Why == "" || !(a.MinutesLeft >= 0) {
			t.Fatalf("next %+v, %v minutes left", a.Next, a.MinutesLeft)
		}
	})
}

// TestLawNoiseIsNoNews: an answer "unknown", an answer that the model does not know, and a check that could not be done
// change no chance; nor does the order in which checks failed.
func TestLawNoiseIsNoNews(t *testing.T) {
	m := BuiltIn()
	rapid.Check(t, func(t *rapid.T) {
		s := anyState(t)
		want := m.Posterior(s)
		g := rapid.SampledFrom(m.Signs).Draw(t, "sign")
		if s.Signs[g.ID] == "" {
			s.Signs[g.ID] = rapid.SampledFrom([]string{Unknown, "blue"}).Draw(t, "answer")
		}
		s.Signs["no such sign"] = "yes"
		s.Checks = append([]Outcome{{"no such check", NotFixed}, {m.Checks[0].ID, CouldNotDo}}, s.Checks...)
		for i, got := range m.Posterior(s) {
			if math.Abs(got-want[i]) > 1e-12 {
				t.Fatalf("%s: %v, was %v", m.Causes[i].ID, got, want[i])
			}
		}
	})
}

// TestEveryCallEnds: whatever is answered, each next step can be answered once and the call comes to an end.
func TestEveryCallEnds(t *testing.T) {
	m := BuiltIn()
	rapid.Check(t, func(t *rapid.T) {
		s := State{AsOf: noon, OffLimitH: 2, Danger: map[string]string{}, Signs: map[string]string{}}
		if rapid.Bool().Draw(t, "late") {
			s.OffSince = noon.Add(-3 * time.Hour)
		}
		seen := map[string]bool{}
		for range 60 {
			n := m.Advise(s).Next
			if n.Kind == Visit || n.Kind == End {
				return
			}
			// A danger question comes twice after "cannot tell", and no oftener.
			if seen[n.Check] && (n.Kind != "danger" || s.Danger[n.Check[len(prefixFirst):]] != Unknown) {
				t.Fatalf("%s comes twice", n.Check)
			}
			seen[n.Check] = true
			s = s.With(n, rapid.SampledFrom(append(answersOf(n), Unknown)).Draw(t, n.Check))
		}
		t.Fatal("no end")
	})
}

func answersOf(n Next) (out []string) {
	switch n.Kind {
	case "danger", "question":
		for _, a := range n.Answers {
			out = append(out, a.ID)
		}
	case "check":
		out = []string{Fixed, NotFixed, NotFixed, CouldNotDo}
	default:
		out = []string{Said}
	}
	return out
}

// TestPatientFirst: blood is acted on before anything else is asked, and ends the talk about equipment.
func TestPatientFirst(t *testing.T) {
	m := BuiltIn()
	s := State{AsOf: noon, OffLimitH: 2, Danger: map[string]string{"blood": Yes}, Signs: map[string]string{"alarm": "full"}}
	a := m.Advise(s)
	if a.Next.Kind != "patient" || !strings.Contains(a.Next.Say, "the local emergency number") || !strings.HasPrefix(a.Next.Say, "Switch the pump off") {
		t.Fatalf("%+v", a.Next)
	}
	local, err := m.WithLocal([]byte("name = \"East\"\nemergency = \"112\"\n"))
	if err != nil || !strings.Contains(local.Advise(s).Next.Say, "Call 112 now") {
		t.Fatalf("%v: %+v", err, local)
	}
	s = s.With(a.Next, Said)
	for _, id := range []string{"breathing", "fever", "pain"} {
		if n := m.Advise(s).Next; n.Check != "danger:"+id {
			t.Fatalf("%+v, want %s", n, id)
		}
		s.Danger[id] = No
	}
	if n := m.Advise(s).Next; n.Kind != End {
		t.Fatalf("%+v", n)
	}
}

// TestLimit: two hours by the source; somebody must set out in time; at the limit the filler comes before every check.
func TestLimit(t *testing.T) {
	m := BuiltIn()
	at := func(off time.Duration) Advice {
		return m.Advise(State{AsOf: noon, OffLimitH: 2, OffSince: noon.Add(-off), Danger: calm(), VisitMin: 30})
	}
	if a := at(time.Hour); !a.OffLimitAt.Equal(noon.Add(time.Hour)) || a.Clock.CallNow || a.Clock.Passed || a.Clock.LeftMin != 60 || !a.Clock.LeaveBy.Equal(noon.Add(10*time.Minute)) {
		t.Errorf("after an hour: %+v", a.Clock)
	}
	if a := at(70 * time.Minute); !a.Clock.CallNow || a.Clock.Passed || a.Next.Kind == "filler" {
		t.Errorf("after 70 min: %+v", a.Clock)
	}
	if a := at(2 * time.Hour); !a.Clock.Passed || a.Next.Kind != "filler" {
		t.Errorf("after two hours: %+v", a)
	}
	if a := m.Advise(State{AsOf: noon, OffLimitH: 2, Danger: calm()}); a.OffLimitAt != nil || a.Clock.Known || !strings.HasPrefix(a.Clock.Words, "Cannot tell") {
		t.Errorf("not known: %+v", a.Clock)
	}
	if a := m.Advise(State{AsOf: noon, OffLimitH: 2, Danger: calm(), OffSince: noon.Add(-5 * time.Hour), Runs: true}); a.Clock.Passed || a.OffLimitAt != nil {
		t.Errorf("runs: %+v", a.Clock)
	}
}

// TestCounted: Beta-Bernoulli by hand. 60 calls of weight, 12 % stated for a full canister; 20 of 40 calls found one:
// (60 * 0.12 + 20) / (60 + 40) = 0.272. Bleeding is found never and stays at 1 %, "other" at 2 %; "not equipment" falls
// from 3 % as far as it may, to 3 %. What they need comes from the rest in proportion.
func TestCounted(t *testing.T) {
	m := BuiltIn()
	var tally Tally
	for range 20 {
		tally.Count(m, Ended{"canister-full", []Outcome{{"straighten", NotFixed}, {"new-canister", Fixed}}})
		tally.Count(m, Ended{"kink", []Outcome{{"straighten", Fixed}, {"connectors", CouldNotDo}}})
	}
	tally.Count(m, Ended{})
	got := m.Counted(tally)
	plain := func(id string, n float64) float64 { return (60*m.Cause(id).Prior + n) / 100 }
	rest := 0.0
	for _, c := range m.Causes {
		if !c.Always {
			rest += plain(c.ID, float64(tally.Found[c.ID]))
		}
	}
	if want := 0.272 * (1 - 0.06) / rest; math.Abs(got.Cause("canister-full").Prior-want) > 1e-12 {
		t.Errorf("canister full %v, want %v", got.Cause("canister-full").Prior, want)
	}
	for id, p := range map[string]float64{"bleeding": 0.01, "other": 0.02, "not-equipment": 0.03} {
		if math.Abs(got.Cause(id).Prior-p) > 1e-12 {
			t.Errorf("%s %v", id, got.Cause(id).Prior)
		}
	}
	// (10 * 0.94 + 20) / (10 + 20)
	if p := got.Check("straighten").Finds["kink"]; math.Abs(p-29.4/30) > 1e-12 {
		t.Errorf("straighten for a kink %v", p)
	}
	if got.Calls != 40 || got.TriedFor("straighten", "kink") != (Tried{20, 0}) || got.Cause("kink").Found != 20 || m.Cause("kink").Prior != 0.10 {
		t.Errorf("%d calls, %+v", got.Calls, got.TriedFor("straighten", "kink"))
	}
	var twice Tally
	twice.Add(tally)
	twice.Add(Tally{})
	if !reflect.DeepEqual(twice, tally) {
		t.Error("adding to nothing changes a tally")
	}
}

// TestLawCounted: with any counts the chances sum to 1 and what is always listed is never less likely than stated.
func TestLawCounted(t *testing.T) {
	m := BuiltIn()
	rapid.Check(t, func(t *rapid.T) {
		var tally Tally
		tally.Found = map[string]int{}
		for _, c := range m.Causes {
			n := rapid.IntRange(0, 3000).Draw(t, c.ID)
			if rapid.Bool().Draw(t, "none") {
				n = 0
			}
			tally.Found[c.ID], tally.Calls = n, tally.Calls+n
		}
		sum := 0.0
		for i, c := range m.Counted(tally).Causes {
			sum += c.Prior
			if c.Always && c.Prior < m.Causes[i].Prior-1e-12 || !(c.Prior > 0) {
				t.Fatalf("%s: %v", c.ID, c.Prior)
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("sum %v", sum)
		}
	})
}

// FuzzWithLocal: any local file gives a model whose chances add up to 1, or problems.
func FuzzWithLocal(f *testing.F) {
	f.Add([]byte("name = \"East\"\n[prior]\nkink = 0.3\n[check.patch]\nminutes = 6\nfinds = { seal-port = 0.9 }\n[sign.hiss]\nask = \"?\"\n"))
	f.Add([]byte("[setting]\nvisit_min = nan\n[danger.blood]\nyes = \"\"\n[sign.log]\nask = \"x\"\nusual = [1]\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		m, err := BuiltIn().WithLocal(raw)
		if (m == nil) == (err == nil) {
			t.Fatal("a model with an error, or neither")
		}
		if err != nil {
			return
		}
		sum := 0.0
		for _, c := range m.Advise(State{AsOf: noon, OffLimitH: 2, Danger: calm()}).Causes {
			sum += c.Chance
		}
		if math.Abs(sum-1) > 1e-6 {
			t.Fatalf("sum %v", sum)
		}
	})
}

// TestLocalRefuses: each fault is named with its place, and all at once.
func TestLocalRefuses(t *testing.T) {
	_, err := BuiltIn().WithLocal([]byte("colour = 1\n[prior]\nflood = 0.1\nkink = 2\n[setting]\nvisit_min = -1\n[check.dance]\nminutes = 1\n[sign.hiss]\nusual = [1.0]\n[danger.thirst]\nask = \"?\"\n"))
	if err == nil {
		t.Fatal("taken")
	}
	for _, part := range []string{"colour", "name", "prior.flood", "prior.kink", "check.dance", "danger.thirst"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("does not name %s: %v", part, err)
		}
	}
	_, err = BuiltIn().WithLocal([]byte("name = \"x\"\n[setting]\nvisit_min = -1\n[sign.hiss]\nusual = [1.0]\n"))
	if err == nil || !strings.Contains(err.Error(), "setting visit_min") || !strings.Contains(err.Error(), "sign hiss: usual") {
		t.Errorf("%v", err)
	}
}
