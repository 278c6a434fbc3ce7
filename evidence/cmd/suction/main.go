// Command suction prints how the pressure path compares with SciPy's stiff solver: the worst difference for each of
// the committed parameter sets, and the time for 24 h of a two-stage program with a leak of 10 mL/min.
//
//	go run ./evidence/cmd/suction [-scipy] [-runs 20]
//
// With -scipy it also runs the committed script with /usr/bin/python3 on the same 24 h (about a minute); without, only
// our own time is printed. Its short form is TestCheckSciPy in package suction.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"syscall"

	"lowtide/suction"
	"lowtide/therapy"
)

const folder = "suction/testdata/ref/scipy-1-10-stiff"

func main() {
	scipy := flag.Bool("scipy", false, "time SciPy on the same problem")
	runs := flag.Int("runs", 20, "how often our own time is taken")
	flag.Parse()
	if err := accuracy(); err != nil {
		fail(err)
	}
	if err := speed(*scipy, *runs); err != nil {
		fail(err)
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "suction:", err)
	os.Exit(1)
}

// accuracy compares every committed trace.
func accuracy() error {
	raw, err := os.ReadFile(filepath.Join(folder, "want.json"))
	if err != nil {
		return fmt.Errorf("run this from the top of the tree: %w", err)
	}
	var file struct {
		FineUntilS float64 `json:"fine_until_s"`
		FineStepS  float64 `json:"fine_step_s"`
		StepS      float64 `json:"step_s"`
		Cases      []struct {
			Setup    json.RawMessage `json:"setup"`
			Switches int             `json:"switches"`
			Pump     []float64       `json:"pump_mmHg"`
			Wound    []float64       `json:"wound_mmHg"`
		} `json:"cases"`
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		return err
	}
	fmt.Printf("| set | stages | leak mL/min, exponent | headspace + void mL | bore mm | sensor | vent | altitude m | switches | worst mmHg |\n|---|---|---|---|---|---|---|---|---|---|\n")
	worst, each, fine := 0.0, int(math.Round(file.StepS/file.FineStepS)), int(math.Round(file.FineUntilS/file.FineStepS))
	for k, c := range file.Cases {
		in, problems := suction.Parse(c.Setup)
		if len(problems) > 0 {
			return fmt.Errorf("set %d: %v", k, problems)
		}
		s := in.Setup
		trace := suction.Simulate(s, suction.Options{StepS: file.FineStepS}).Trace
		off := 0.0
		for i := range c.Wound {
			j := i
			if i >= fine {
				j = fine + (i-fine)*each
			}
			off = math.Max(off, math.Max(math.Abs(trace[j].WoundMmHg-c.Wound[i]), math.Abs(trace[j].PumpMmHg-c.Pump[i])))
		}
		worst = math.Max(worst, off)
		fmt.Printf("| %d | %d | %g, %g | %.0f + %g | %g | %s | %g | %g | %d | %.5f |\n", k, len(s.Stages), s.LeakMLMin, s.LeakExponent,
			s.CanisterML-s.FluidML, s.VoidML, s.Tube.BoreMM, s.Pump.Sensor, s.Pump.VentMLMinMmHg, s.AltitudeM, c.Switches, off)
	}
	fmt.Printf("\nWorst of all: %.5f mmHg (0.2 is asked for).\n\n", worst)
	return nil
}

// processorTime is what this process has used, in seconds: other work on the machine does not disturb it as much as
// it does the clock.
func processorTime() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		fail(err)
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
}

// speed times the day that the budget speaks of, a trace sample each second included on both sides.
func speed(scipy bool, runs int) error {
	s, _ := suction.Class("portable")
	s.FluidML = 100
	s.Stages = therapy.Program{{SuctionMmHg: 110, HoldMin: 4}, {SuctionMmHg: 60, HoldMin: 3}}
	s.Hours = 24
	times := make([]float64, 0, runs)
	var r suction.Result
	for range max(1, runs) {
		from := processorTime()
		r = suction.Simulate(s, suction.Options{StepS: 1, Tol: 1e-8})
		times = append(times, processorTime()-from)
	}
	sort.Float64s(times)
	median := times[len(times)/2]
	fmt.Printf("| 24 h, 110/60 mmHg, 4/3 min, 10 mL/min, tolerance 1e-8 | processor time | switches |\n|---|---|---|\n")
	fmt.Printf("| Lowtide, median of %d (least %.1f ms) | %.1f ms | %d |\n", len(times), times[0]*1000, median*1000, r.Work.Switches)
	if !scipy {
		return nil
	}
	raw, err := json.Marshal(s)
	if err != nil {
		return err
	}
	file, err := os.CreateTemp("", "suction-*.json")
	if err != nil {
		return err
	}
	defer os.Remove(file.Name())
	if _, err := file.Write(raw); err != nil {
		return err
	}
	if err := file.Close(); err != nil {
		return err
	}
	script := exec.Command("/usr/bin/python3", filepath.Join(folder, "make.py"), "--time", file.Name())
	out, err := script.Output()
	if err != nil {
		return fmt.Errorf("SciPy did not run (Debian package python3-scipy): %w", err)
	}
	var got struct {
		Switches int `json:"switches"`
	}
	if err := json.Unmarshal(out, &got); err != nil {
		return err
	}
	took := (script.ProcessState.UserTime() + script.ProcessState.SystemTime()).Seconds()
	fmt.Printf("| SciPy 1.10.1, LSODA, once, start of Python included | %.1f s | %d |\n", took, got.Switches)
	fmt.Printf("\nSciPy takes %.0f times as long.\n", took/median)
	return nil
}
