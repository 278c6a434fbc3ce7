package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// runRules runs one command line.
func runRules(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = Main(append([]string{"rules"}, args...), strings.NewReader(""), &out, &errs)
	return code, out.String(), errs.String()
}

func writeProtocol(t *testing.T, text string) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "protocol.toml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return dir
}

const goodProtocol = `name = "Ward 7"
[[change]]
value = "canister_stay"
to = 5
unit = "d"
reason = "The supplier asks for it."
by = "Wound committee"
from = 2026-03-01
`

func TestRulesList(t *testing.T) {
	code, out, errs := runRules("list")
	if code != exitOK || !strings.Contains(out, "CAN-WEEK-01") || errs != "" {
		t.Errorf("%d %s %s", code, out, errs)
	}
	code, out, _ = runRules("list", "--local", writeProtocol(t, goodProtocol))
	if code != exitOK || !strings.Contains(out, "[local value]") {
		t.Errorf("%d %s", code, out)
	}
	code, out, _ = runRules("list", "--json")
	var got struct {
		Hash  string
		Rules []struct{ ID, Basis string }
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != exitOK || len(got.Hash) != 64 || len(got.Rules) == 0 ||
		got.Rules[0].Basis == "" {
		t.Errorf("%d %v %.200s", code, err, out)
	}
}

func TestRulesExplain(t *testing.T) {
	code, out, _ := runRules("explain", "CAN-WEEK-01", "--local", writeProtocol(t, goodProtocol))
	if code != exitOK || !strings.Contains(out, "canister_stay = 5 days") || !strings.Contains(out, "built in 7 days") {
		t.Errorf("%d %s", code, out)
	}
	code, out, _ = runRules("explain", "CAN-WEEK-01", "--json")
	if code != exitOK || !json.Valid([]byte(out)) {
		t.Errorf("%d %s", code, out)
	}
	for _, args := range [][]string{{"explain", "NO-RULE-01"}, {"explain"}, {"explain", "A", "B"}, {}, {"list", "x"}, {"list", "--nonsense"}} {
		if code, _, errs := runRules(args...); code != exitUsage || !strings.Contains(errs, "type: lowtide") {
			t.Errorf("%q: %d %s", args, code, errs)
		}
	}
}

func TestRulesTest(t *testing.T) {
	code, out, errs := runRules("test", writeProtocol(t, goodProtocol))
	if code != exitOK || !strings.Contains(out, ", 0 failed") || !strings.Contains(out, "local  CAN-WEEK-01, just below: built in no, with the local values yes") {
		t.Errorf("%d %s %s", code, out, errs)
	}
	bad := strings.Replace(goodProtocol, "value =", "rule = \"CAN-WEEK-99\"\nvalue =", 1)
	bad = strings.Replace(bad, `by = "Wound committee"`, "", 1)
	code, _, errs = runRules("test", writeProtocol(t, bad))
	if code != exitUsage || !strings.Contains(errs, "no rule CAN-WEEK-99") || !strings.Contains(errs, "by: is missing") {
		t.Errorf("%d %s", code, errs)
	}
	failing := goodProtocol + "[[change.case]]\nrule = \"CAN-WEEK-01\"\nname = \"six days\"\nwant = \"no\"\nfacts = { \"therapy.open\" = true, \"canister.changed_at\" = -144 }\n"
	code, out, _ = runRules("test", writeProtocol(t, failing))
	if code != exitFailed || !strings.Contains(out, "FAILS  CAN-WEEK-01, six days: want no, got yes") {
		t.Errorf("%d %s", code, out)
	}
	code, out, _ = runRules("test", "--json")
	if code != exitOK || !json.Valid([]byte(out)) {
		t.Errorf("%d %.200s", code, out)
	}
	if code, _, errs = runRules("test", filepath.Join(t.TempDir(), "absent")); code != exitUsage || !strings.Contains(errs, "is not a folder") {
		t.Errorf("%d %s", code, errs)
	}
}
