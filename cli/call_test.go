package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lowtide/rule"
	"lowtide/trouble"
)

// runCall runs the command on facts.
func runCall(t *testing.T, facts string, args ...string) (code int, out, errs string) {
	t.Helper()
	name := filepath.Join(t.TempDir(), "facts.json")
	if err := os.WriteFile(name, []byte(facts), 0o600); err != nil {
		t.Fatal(err)
	}
	var o, e bytes.Buffer
	code = Main(append([]string{"call", name}, args...), strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// TestCallContract: the keys of the contract are there, and say what the facts ask for.
func TestCallContract(t *testing.T) {
	code, out, errs := runCall(t, `{"as_of":"2026-03-04T12:00:00Z","off_since":"2026-03-04T11:00:00+00:00","danger":{"blood":"no","breathing":"no","fever":"no","pain":"no"},
		"signs":{"alarm":"full","canister_expected_pct":97.5,"hiss":null},"checks":[{"check":"straighten","result":"not fixed"}],"visit_min":30}`, "--json")
	if code != 0 {
		t.Fatal(code, errs)
	}
	var got struct {
		Danger []struct{ ID, Answer string }
		Causes []struct {
			ID     string
			Chance float64
		}
		Next struct {
			Check, Say string
			Minutes    float64
		}
		OffLimitAt time.Time `json:"off_limit_at"`
		Notes      []string
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Danger) != 4 || got.Danger[0].Answer != "no" || got.Causes[0].ID != "canister-full" || got.Next.Check != "new-canister" || !(got.Next.Minutes > 0) || got.Next.Say == "" ||
		!got.OffLimitAt.Equal(time.Date(2026, 3, 4, 13, 0, 0, 0, time.UTC)) || len(got.Notes) != 0 {
		t.Errorf("%s", out)
	}
	// Nothing given: a danger question comes first, bleeding stands first, the limit cannot be told.
	code, out, _ = runCall(t, `{}`, "--json")
	if code != 0 || !strings.Contains(out, `"check": "danger:blood"`) || !strings.Contains(out, `"off_limit_at": null`) || strings.Index(out, `"bleeding"`) > strings.Index(out, `"seal-dressing"`) {
		t.Errorf("%d %s", code, out)
	}
	if code, out, _ = runCall(t, `{"danger":{"blood":"yes"}}`); code != 0 || !strings.Contains(out, "DO: Switch the pump off.") {
		t.Errorf("%d %s", code, out)
	}
}

// TestCallProblems: every problem is listed with its place, the value and what to do; nothing is computed.
func TestCallProblems(t *testing.T) {
	code, out, errs := runCall(t, `{"blood":"yes","hiss":"port","as_of":"noon","runs":true,"off_since":"2026-03-04T11:00:00Z","visit_min":-1,"danger":{"blood":"perhaps","thirst":"no"},
		"signs":{"alarm":"loud","canister_expected_pct":-5,"hiss":3,"hum":"yes","film":[1]},"checks":[{"check":"dance","result":"fixed"},7,{"check":"patch","result":"maybe"}],"tally":{"kink":1.5,"flood":2}}`, "--json")
	if code != 2 || out != "" {
		t.Fatalf("%d %s", code, out)
	}
	for _, place := range []string{"/blood", "/hiss", "/as_of", "/runs", "/visit_min", "/danger/blood", "/danger/thirst", "/signs/alarm", "/signs/canister_expected_pct", "/signs/hiss", "/signs/hum", "/signs/film", "/checks/0/check", "/checks/1", "/checks/2/result", "/tally/kink", "/tally/flood"} {
		if !strings.Contains(errs, place+": ") {
			t.Errorf("does not name %s:\n%s", place, errs)
		}
	}
}

// TestCallLocal: a local file counts, and a broken one is named.
func TestCallLocal(t *testing.T) {
	dir := t.TempDir()
	write := func(text string) {
		if err := os.WriteFile(filepath.Join(dir, trouble.LocalFile), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if code, _, errs := runCall(t, `{}`, "--local", dir); code != 2 || !strings.Contains(errs, "protocol.toml") {
		t.Errorf("a folder without a protocol: %d %s", code, errs)
	}
	protocol := "name = \"East\"\n[[change]]\nvalue = \"off_limit\"\nto = 90\nunit = \"min\"\nreason = \"agreed\"\nby = \"Dr I. Vance\"\nfrom = 2026-03-01\n"
	if err := os.WriteFile(filepath.Join(dir, "protocol.toml"), []byte(protocol), 0o600); err != nil {
		t.Fatal(err)
	}
	for from, want := range map[string]string{"2026-03-04T11:15:00Z": "12:45", "2026-02-27T11:15:00Z": "13:15"} {
		code, out, errs := runCall(t, `{"as_of":"`+from+`","off_since":"`+from+`","danger":{"blood":"no"}}`, "--local", dir)
		if code != 0 || !strings.Contains(out, want) {
			t.Errorf("off since %s: %d %s %s", from, code, out, errs)
		}
	}
	write("name = \"East\"\nemergency = \"112\"\n[prior]\nkink = 0.9\n")
	if code, out, _ := runCall(t, `{"danger":{"blood":"yes"}}`, "--local", dir); code != 0 || !strings.Contains(out, "Call 112 now") {
		t.Errorf("%d %s", code, out)
	}
	write("name = \"East\"\n[prior]\nflood = 0.9\n")
	if code, _, errs := runCall(t, `{}`, "--local", dir); code != 2 || !strings.Contains(errs, "prior.flood") {
		t.Errorf("%d %s", code, errs)
	}
}

// FuzzCallFacts: any bytes give problems, or advice with every cause and a next step.
// Slow: each call that is taken is advised on, with every check weighed.
func FuzzCallFacts(f *testing.F) {
	f.Add([]byte(`{"as_of":"2026-03-04T12:00:00Z","danger":{"blood":"no"},"signs":{"alarm":"leak","changed_h":1e300},"checks":[{"check":"patch","result":"fixed"}],"tally":{"kink":3}}`))
	f.Add([]byte(`{"signs":[],"danger":null,"checks":{},"off_since":"9999-12-31T23:59:59Z"}`))
	f.Add([]byte("{\"signs\":{\"\x00\":1}} {}"))
	rules, err := rule.Builtin()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		m := trouble.BuiltIn()
		in, problems := parseCall(raw, m, rules)
		if len(problems) > 0 {
			return
		}
		in.state.OffLimitH = 2
		a := m.Counted(in.tally).Advise(in.state)
		if len(a.Causes) != len(m.Causes) || a.Next.Say == "" {
			t.Fatalf("%+v", a)
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
	})
}
