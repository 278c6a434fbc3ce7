package rule

import (
	"os"
	"strings"
	"testing"
	"testing/fstest"
)

func TestPlanTable(t *testing.T) {
	table, found := readPlanTable(formsOf(os.DirFS(".")))
	if len(found) > 0 {
		t.Fatal(found)
	}
	set, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	sources := map[string]bool{}
	for _, s := range set.Sources() {
		sources[s.ID] = true
	}
	for _, r := range table.Rows {
		if !sources[r.Source] {
			t.Errorf("row %s: there is no source %q", r.First, r.Source)
		}
		if len(r.Wait) == 0 {
			t.Errorf("row %s makes nothing wait", r.First)
		}
		for _, w := range r.Wait {
			if table.Clash(w, r.First) != nil {
				t.Errorf("%s and %s make each other wait", r.First, w)
			}
		}
	}
	used := map[string]bool{}
	for _, r := range set.Rules() {
		for _, a := range r.Acts {
			used[a.Do], used[a.Do+" "+a.About] = true, true
		}
	}
	for _, v := range table.Verbs {
		if !used[v.Name] {
			t.Errorf("no rule asks for %s", v.Name)
		}
		for o := range v.Objects {
			if !used[v.Name+" "+o] {
				t.Errorf("no rule asks for %s %s", v.Name, o)
			}
		}
	}
}

// TestActNowNeverSilenced shows that every rule of level Act now keeps an act in the plan whatever else is asked for.
func TestActNowNeverSilenced(t *testing.T) {
	set, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	loses := map[string]bool{}
	for _, r := range Plans().Rows {
		for _, w := range r.Wait {
			loses[w] = true
		}
	}
	for _, r := range set.Rules() {
		stays := false
		for _, a := range r.Acts {
			stays = stays || (!a.If && !loses[a.Do] && !Plans().Verb(a.Do).First && (a.Level == "" || a.Level == ActNow))
		}
		if r.Level == ActNow && !stays {
			t.Errorf("%s: every act of it can be made to wait: %v", r.ID, r.Acts)
		}
	}
}

func TestActsAreRefused(t *testing.T) {
	raw, err := os.ReadFile("data/visits/VIS-OFF-02.toml")
	if err != nil {
		t.Fatal(err)
	}
	src, err := os.ReadFile("source/royal-marsden-npwt.toml")
	if err != nil {
		t.Fatal(err)
	}
	limit, err := os.ReadFile("value/off_limit.toml")
	if err != nil {
		t.Fatal(err)
	}
	line := `acts = ["restore-suction", "dressing-off?"]`
	if !strings.Contains(string(raw), line) {
		t.Fatal("the rule has changed its acts; change the test")
	}
	for _, c := range []struct{ acts, want string }{
		{``, "acts: is missing"},
		{`acts = []`, "acts"},
		{`acts = ["restore-suction?"]`, "without a condition"},
		{`acts = ["get-it-running"]`, "is no act"},
		{`acts = ["look"]`, "does not say what it is about"},
		{`acts = ["look moon"]`, "does not know"},
		{`acts = ["look pump at Tomorrow"]`, "unknown level"},
		{`acts = "look pump"`, "acts"},
		{line, ""},
		{`acts = ["look pump at Act now"]`, ""},
	} {
		fsys := fstest.MapFS{
			"data/VIS-OFF-02.toml":           {Data: []byte(strings.Replace(string(raw), line, c.acts, 1))},
			"source/royal-marsden-npwt.toml": {Data: src},
			"value/off_limit.toml":           {Data: limit},
		}
		_, err := Load(fsys)
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s: %v", c.acts, err)
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%s: got %v, want %q", c.acts, err, c.want)
		}
	}
}

// TestTextsNameTheirActs holds the prose of every rule against its acts: a text that tells to do one of the things that
// the table of precedence weighs names it, firmly or under a condition.
func TestTextsNameTheirActs(t *testing.T) {
	set, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	phrases := []struct{ text, act string }{
		{"dressing comes off", "dressing-off"},
		{"dressing must come off", "dressing-off"},
		{"dressing taken off", "dressing-off"},
		{"take the dressing off", "dressing-off"},
		{"take the filler out", "dressing-off"},
		{"filler taken out", "dressing-off"},
		{"dressing without suction must not stay on", "dressing-off"},
		{"get it running", "restore-suction"},
		{"suction back", "restore-suction"},
		{"see that it runs", "restore-suction"},
		{"new canister goes in", "change-canister"},
		{"put a new canister in", "change-canister"},
		{"change the canister", "change-canister"},
		{"cover the leak", "seal"},
		{"change the dressing", "change-dressing"},
		{"renew the dressing", "change-dressing"},
		{"dressing renewed", "change-dressing"},
	}
	hits := 0
	for _, r := range set.Rules() {
		do := strings.ToLower(r.Do)
		for _, p := range phrases {
			if !strings.Contains(do, p.text) {
				continue
			}
			hits++
			named := false
			for _, a := range r.Acts {
				named = named || a.Do == p.act
			}
			if !named {
				t.Errorf("%s says %q and does not name the act %s", r.ID, p.text, p.act)
			}
		}
		if strings.HasPrefix(do, "stop the suction") && (r.Acts[0].Do != "leave-suction-off" || r.Acts[0].If) {
			t.Errorf("%s begins with stopping the suction, and its first act is %s", r.ID, r.Acts[0].Do)
		}
	}
	if hits < 30 {
		t.Errorf("only %d texts were held against their acts", hits)
	}
}
