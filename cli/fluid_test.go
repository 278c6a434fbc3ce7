package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lowtide/fluid"
)

const contractInput = `{"canister_mL":400,"usable_share":0.9,"area_cm2":30,"as_of":"2026-03-04T08:00:00Z","readings":[
{"at":"2026-03-01T08:00:00Z","mL":0,"new_canister":true},{"at":"2026-03-02T08:00:00Z","mL":75}]}`

func runFluid(input string, args ...string) (code int, stdout, stderr string) {
	var out, errOut bytes.Buffer
	code = Main(append([]string{"fluid"}, args...), strings.NewReader(input), &out, &errOut)
	return code, out.String(), errOut.String()
}

// The command contract: keys and shapes.
func TestFluidContract(t *testing.T) {
	file := filepath.Join(t.TempDir(), "course.json")
	if err := os.WriteFile(file, []byte(contractInput), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ input, name string }{{"", file}, {contractInput, "-"}} {
		code, out, errOut := runFluid(c.input, c.name, "--json", "--before", "2026-03-06T08:00:00Z")
		if code != 0 || errOut != "" {
			t.Fatalf("exit %d, stderr %q", code, errOut)
		}
		type points[T any] struct{ Median, P10, P90 T }
		var f struct {
			Status    string                     `json:"status"`
			Text      string                     `json:"status_text"`
			Rate      points[float64]            `json:"rate_mL_d"`
			FullAt    fluid.FullAt               `json:"full_at"`
			Collected map[string]points[float64] `json:"collected_after_h"`
			Chance    *float64                   `json:"chance_full_before"`
		}
		if err := json.Unmarshal([]byte(out), &f); err != nil {
			t.Fatal(err)
		}
		if f.Status != "few_readings" || f.Text == "" || f.Chance == nil || *f.Chance <= 0 || *f.Chance >= 1 {
			t.Errorf("%+v", f)
		}
		if !(f.Rate.P10 < f.Rate.Median && f.Rate.Median < f.Rate.P90) || !(f.FullAt.Early.Before(f.FullAt.Even) && f.FullAt.Even.Before(f.FullAt.Late)) || f.FullAt.Status != fluid.FullComes {
			t.Errorf("%+v", f)
		}
		for _, h := range []string{"24", "48", "72"} {
			if q, ok := f.Collected[h]; !ok || !(0 < q.P10 && q.P10 < q.Median && q.Median < q.P90) {
				t.Errorf("%s h: %+v", h, q)
			}
		}
	}
}

func TestFluidText(t *testing.T) {
	code, out, _ := runFluid(contractInput, "-", "--before", "2026-03-06T08:00:00Z")
	for _, want := range []string{"four times in five between", "mL a day", "full at", "chance", "does not replace clinical judgement"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in\n%s", want, out)
		}
	}
	if code != 0 || strings.Contains(out, "NaN") {
		t.Errorf("exit %d\n%s", code, out)
	}
}

// The mark that some editors put before a text is no part of it.
func TestByteOrderMark(t *testing.T) {
	const mark = "\xef\xbb\xbf"
	for _, c := range []struct{ command, in string }{{"fluid", contractInput}, {"healing", `{"sizes":[{"at":"2026-03-01","area_cm2":3}]}`}, {"bench", `{"stages":[{"suction_mmHg":110,"hold_min":4}],"hours":0.2}`}} {
		var plain, marked, errs bytes.Buffer
		if a, b := Main([]string{c.command, "-"}, strings.NewReader(c.in), &plain, &errs), Main([]string{c.command, "-"}, strings.NewReader(mark+c.in), &marked, &errs); a != 0 || b != 0 || plain.String() != marked.String() {
			t.Errorf("%s: exits %d and %d, %s", c.command, a, b, errs.String())
		}
	}
}

// A slip in a key of a program names the one that was meant, in bench and in log.
func TestProgramKeyNearest(t *testing.T) {
	program := filepath.Join(t.TempDir(), "program.json")
	if err := os.WriteFile(program, []byte(`{"stages":[{"suction_mmhg":110,"hold_min":4}],"hourss":2}`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"bench", program}, {"log", "-", "--program", program}} {
		var out, errs bytes.Buffer
		code := Main(args, strings.NewReader("time,mmHg\n"), &out, &errs)
		for _, want := range []string{"write suction_mmHg if that is meant", "write hours if that is meant"} {
			if code != 2 || !strings.Contains(errs.String(), want) {
				t.Errorf("%s: exit %d, %q is missing in %s", args[0], code, want, errs.String())
			}
		}
	}
}

// A sudden rise is told with what to look for.
func TestFluidTellsARise(t *testing.T) {
	in := `{"canister_mL":1000,"usable_share":0.9,"as_of":"2026-03-08T08:00:00Z","readings":[{"at":"2026-03-01T08:00:00Z","mL":0,"new_canister":true},
	{"at":"2026-03-02T08:00:00Z","mL":50},{"at":"2026-03-03T08:00:00Z","mL":100},{"at":"2026-03-04T08:00:00Z","mL":150},{"at":"2026-03-05T08:00:00Z","mL":200},
	{"at":"2026-03-06T08:00:00Z","mL":250},{"at":"2026-03-07T08:00:00Z","mL":450},{"at":"2026-03-08T08:00:00Z","mL":650}]}`
	_, out, _ := runFluid(in, "-")
	if !strings.Contains(out, "sudden rise") || !strings.Contains(out, "look for bleeding") {
		t.Error(out)
	}
	_, out, _ = runFluid(in, "-", "--json")
	var f struct {
		Changes []struct{ Factor, Probability float64 }
	}
	if err := json.Unmarshal([]byte(out), &f); err != nil || len(f.Changes) != 1 || f.Changes[0].Factor < 3 {
		t.Errorf("%v %+v", err, f)
	}
}

// Every problem is listed at once with its place, and nothing is computed.
func TestFluidRefusesBadInput(t *testing.T) {
	bad := `{"canister_mL":-1,"usable_share":1.5,"area_cm2":"30","as_of":"yesterday","pauses":[{"from":"2026-03-02T00:00:00Z","to":"2026-03-01T00:00:00Z"}],
	"readings":[{"at":"2026-03-01T08:00:00Z"},{"mL":5},7,{"at":"2026-03-01T08:00:00Z","mL":1e300},{"at":"2026-03-01","mL":-3,"new_canister":"yes"}]}`
	code, out, errOut := runFluid(bad, "-", "--json", "--before", "noon")
	if code != 2 || out != "" {
		t.Errorf("exit %d, stdout %q", code, out)
	}
	for _, place := range []string{"/canister_mL: -1", "/usable_share: 1.5", `/area_cm2: "30"`, `/as_of: "yesterday"`, "/pauses/0/to:", "/readings/0/mL: missing",
		"/readings/1/at: missing", "/readings/2: 7", "/readings/3/mL:", `/readings/4/at: "2026-03-01"`, "/readings/4/mL: -3", `/readings/4/new_canister: "yes"`, "--before: noon"} {
		if !strings.Contains(errOut, place) {
			t.Errorf("%q is missing in\n%s", place, errOut)
		}
	}
	refused := `{"canister_ml":500,"canister_mL":500,"usable_share":0,"area_cm2":0,"as_of":"2026-03-02T08:00:00Z","pauses":[{"from":"2026-03-03T00:00:00Z"}],
	"readings":[{"at":"2026-03-01T08:00:00Z","mL":900},{"at":"2026-03-01T09:00:00Z","mL":900,"size_mL":1000,"spilled_mL":0},{"at":"2026-03-02T09:00:00Z","mL":20,"new_cannister":true}]}`
	_, _, errOut = runFluid(refused, "-")
	for _, want := range []string{"/canister_ml: 500: this key is not known here; write canister_mL", "/usable_share: 0: give a number above 0, to 1", "/area_cm2: 0: give a number above 0",
		"/readings/0/mL: 900: a canister of 500 mL cannot hold that", "/readings/1/spilled_mL: 0: give a number above 0", `/readings/2/at: "2026-03-02T09:00:00Z": this is later than the time of the forecast`,
		"/readings/2/new_cannister: true: this key is not known here; write new_canister", "/pauses/0/from:", "lowtide: 8 problems in -"} {
		if !strings.Contains(errOut, want) {
			t.Errorf("%q is missing in\n%s", want, errOut)
		}
	}
	for _, c := range []struct{ name, input string }{{"no JSON", "not json"}, {"empty", ""}, {"a list", "[]"}, {"null", "null"}, {"two values", "{} {}"}} {
		if code, _, errOut := runFluid(c.input, "-", "--json"); code != 2 || errOut == "" {
			t.Errorf("%s: exit %d, %q", c.name, code, errOut)
		}
	}
	if code, _, _ := runFluid("", filepath.Join(t.TempDir(), "none.json")); code != 2 {
		t.Errorf("missing file: exit %d", code)
	}
}

// What is degenerate but sound gets a status with a sentence, never an error.
func TestFluidDegenerate(t *testing.T) {
	defer func(old func() time.Time) { now = old }(now)
	now = func() time.Time { return time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC) }
	for _, c := range []struct{ input, status string }{
		{`{}`, "cannot_tell"},
		{`{"canister_mL":400,"readings":[]}`, "cannot_tell"},
		{`{"canister_mL":400,"readings":null,"area_cm2":null}`, "cannot_tell"},
		{`{"readings":[{"at":"2026-03-01T08:00:00Z","mL":10},{"at":"2026-03-02T08:00:00Z","mL":70}]}`, "cannot_tell"},
		{`{"canister_mL":400,"as_of":"2026-03-02T08:00:00Z","readings":[{"at":"2026-03-01T08:00:00Z","mL":200},{"at":"2026-03-02T08:00:00Z","mL":400}]}`, "full"},
		{`{"canister_mL":400,"as_of":"2026-03-02T08:00:00Z","readings":[{"at":"2026-03-01T08:00:00Z","mL":200},{"at":"2026-03-02T08:00:00Z","mL":20}]}`, "ask"},
	} {
		code, out, errOut := runFluid(c.input, "-", "--json")
		var f struct {
			Status string `json:"status"`
			Text   string `json:"status_text"`
		}
		if err := json.Unmarshal([]byte(out), &f); err != nil || code != 0 || f.Status != c.status || f.Text == "" {
			t.Errorf("%s: exit %d, %q, %+v, %v", c.input, code, errOut, f, err)
		}
	}
}

// FuzzFluid: any bytes give exit 0 with JSON or exit 2 with a reason; never a panic, never NaN.
// Slow: a run is the whole command, which makes its flags anew, and each input that is taken is forecast.
func FuzzFluid(f *testing.F) {
	f.Add([]byte(contractInput))
	f.Add([]byte(`{"readings":[{"at":"2026-03-01T08:00:00+14:00","mL":1e5,"spilled":true},{"at":"1970-01-01T00:00:00Z","mL":0,"new_canister":true}],"pauses":[{"from":"2026-01-01T00:00:00Z"}]}`))
	f.Add([]byte(`{"canister_mL":0.001,"usable_share":0.0001,"as_of":"2199-01-01T00:00:00Z","readings":[{"at":"1971-01-01T00:00:00Z","mL":0}]}`))
	f.Add([]byte(`{"a":`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		code, out, errOut := runFluid(string(raw), "-", "--json", "--before", "2026-03-06T08:00:00Z")
		switch code {
		case 0:
			if !json.Valid([]byte(out)) {
				t.Errorf("not JSON: %s", out)
			}
		case 2:
			if errOut == "" {
				t.Error("exit 2 without a reason")
			}
		default:
			t.Errorf("exit %d: %s", code, errOut)
		}
	})
}
