package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func runLogCommand(t *testing.T, log, program string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	dir := t.TempDir()
	file, prog := filepath.Join(dir, "log.csv"), filepath.Join(dir, "program.json")
	if os.WriteFile(file, []byte(log), 0o600) != nil || os.WriteFile(prog, []byte(program), 0o600) != nil {
		t.Fatal("cannot write")
	}
	var out, errOut bytes.Buffer
	code = Main(append([]string{"log", file, "--program", prog}, args...), strings.NewReader(""), &out, &errOut)
	return code, out.String(), errOut.String()
}

// logOf writes two days of a row a minute: off for 150 min, a leak of 40 min, a gap of 100 min, one row without sense.
func logOf(form string) string {
	var b strings.Builder
	b.WriteString("time,suction_mmHg,flow_mL_min\n")
	start := time.Date(2026, 3, 13, 0, 0, 0, 0, time.UTC)
	for i := range 2880 {
		s, f := 125.0, 40+float64(i%5)
		switch {
		case i >= 2000 && i < 2100:
			continue
		case i >= 500 && i < 540:
			f = 160
		case i >= 1000 && i < 1150:
			s, f = 0, 0
		}
		fmt.Fprintf(&b, "%s,%g,%g\n", start.Add(time.Duration(i)*time.Minute).Format(form), s, f)
	}
	return b.String() + "what,ever\n"
}

// The command contract: keys and shapes.
func TestLogContract(t *testing.T) {
	for _, program := range []string{`{"stages":[{"suction_mmHg":125,"hold_min":60}]}`, `{"stages":[{"suction_mmHg":125}],"class":"portable"}`, `[{"suction_mmHg":125,"hold_min":60}]`} {
		code, out, errOut := runLogCommand(t, logOf(time.RFC3339), program, "--json")
		if code != 0 || errOut != "" {
			t.Fatalf("exit %d, stderr %q", code, errOut)
		}
		var a struct {
			Covered  float64 `json:"covered_min"`
			AtTarget float64 `json:"at_target_min"`
			Off      float64 `json:"off_min"`
			Unknown  float64 `json:"unknown_min"`
			Days     []struct {
				Date       string
				AtTarget   float64 `json:"at_target_min"`
				LongestOff float64 `json:"longest_off_min"`
			}
			Episodes []struct {
				Kind     string
				From, To time.Time
				Size     float64
			}
			Unused []struct {
				Row int
				Why string
			} `json:"rows_unused"`
		}
		if err := json.Unmarshal([]byte(out), &a); err != nil {
			t.Fatal(err)
		}
		if a.Covered != 2780 || a.AtTarget != 2630 || a.Off != 150 || a.Unknown != 100 {
			t.Errorf("%+v", a)
		}
		if len(a.Days) != 2 || a.Days[0].Date != "2026-03-13" || a.Days[0].LongestOff != 150 || a.Days[0].AtTarget != 1290 {
			t.Errorf("%+v", a.Days)
		}
		if len(a.Episodes) != 1 || a.Episodes[0].Kind != "leak" || a.Episodes[0].To.Sub(a.Episodes[0].From) != 40*time.Minute {
			t.Errorf("%+v", a.Episodes)
		}
		if len(a.Unused) != 1 || a.Unused[0].Row != 2782 || !strings.Contains(a.Unused[0].Why, "time cannot be read") {
			t.Errorf("%+v", a.Unused)
		}
	}
}

// TestLogAsks: what a file does not tell is asked for; --map answers.
func TestLogAsks(t *testing.T) {
	program := `{"stages":[{"suction_mmHg":125}]}`
	log := strings.ReplaceAll(logOf("02/01/2006 15:04"), "13/03", "03/03")
	log = log[:strings.Index(log, "14/03")]
	code, out, errOut := runLogCommand(t, log, program, "--json")
	if code != 2 || out != "" || !strings.Contains(errOut, "day first or the month first") || !strings.Contains(errOut, "guessed so far") {
		t.Errorf("exit %d, %q, %q", code, out, errOut)
	}
	if code, _, errOut = runLogCommand(t, log, program, "--json", "--map", "dates=day first"); code != 0 {
		t.Errorf("exit %d, %q", code, errOut)
	}
	code, _, errOut = runLogCommand(t, log, program, "--map", "suction=flow_mL_min:kPa:negative, colour=3, dates=never")
	if code != 2 || !strings.Contains(errOut, "colour") || !strings.Contains(errOut, "dates=never") {
		t.Errorf("exit %d, %q", code, errOut)
	}
	for _, bad := range []string{`{"stages":[]}`, `{"stages":[{"suction_mmHg":"deep"}]}`, `nonsense`, `{"stages":[{"suction_mmHg":125}],"band_mmHg":0}`} {
		if code, _, errOut := runLogCommand(t, log, bad, "--map", "dates=day first"); code != 2 || errOut == "" {
			t.Errorf("%s: exit %d, %q", bad, code, errOut)
		}
	}
}

// TestLogFuture: rows of a year that has not come are counted and not used.
func TestLogFuture(t *testing.T) {
	var out, errs bytes.Buffer
	log := "time,mmHg\n2026-03-01T08:00:00Z,120\n2026-03-01T08:01:00Z,121\n2026-03-01T08:02:00Z,120\n2099-03-01T08:03:00Z,120\n"
	if code := Main([]string{"log", "-", "--map", "time=1, suction=2:mmHg"}, strings.NewReader(log), &out, &errs); code != 0 || !strings.Contains(out.String(), "4 rows, 1 not used") || !strings.Contains(out.String(), "the time lies in the future") {
		t.Errorf("exit %d, %s %s", code, out.String(), errs.String())
	}
}
