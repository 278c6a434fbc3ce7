package healing

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// readRef decodes a file of outside numbers.
func readRef(t *testing.T, path string, into any) {
	t.Helper()
	raw, err := os.ReadFile("testdata/ref/" + path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}

// strdModels are the models of the data sets, as NIST prints them.
var strdModels = map[string]func(b []float64, x float64) float64{
	"Misra1a":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"BoxBOD":   func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Chwirut2": func(b []float64, x float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) },
	"DanWood":  func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
	"Lanczos3": func(b []float64, x float64) float64 {
		return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-b[3]*x) + b[4]*math.Exp(-b[5]*x)
	},
	"MGH10":   func(b []float64, x float64) float64 { return b[0] * math.Exp(b[1]/(x+b[2])) },
	"MGH17":   func(b []float64, x float64) float64 { return b[0] + b[1]*math.Exp(-x*b[3]) + b[2]*math.Exp(-x*b[4]) },
	"Misra1d": func(b []float64, x float64) float64 { return b[0] * b[1] * x / (1 + b[1]*x) },
	"Rat42":   func(b []float64, x float64) float64 { return b[0] / (1 + math.Exp(b[1]-b[2]*x)) },
}

// digits is how many digits of want got has right.
func digits(got, want float64) float64 {
	if got == want {
		return 15
	}
	return math.Min(15, -math.Log10(math.Abs(got-want)/math.Abs(want)))
}

func TestCheckNISTNonlinear(t *testing.T) {
	var sets []struct {
		Name        string      `json:"name"`
		RawX        []float64   `json:"x"`
		RawY        []float64   `json:"y"`
		Starts      [][]float64 `json:"starts"`
		Certified   []float64   `json:"certified"`
		CertifiedSD []float64   `json:"certified_sd"`
		RSS         float64     `json:"rss"`
		ResidualSD  float64     `json:"residual_sd"`
	}
	readRef(t, "nist-strd-nonlinear/strd.json", &sets)
	if len(sets) != 9 {
		t.Fatalf("%d data sets, want 9", len(sets))
	}
	for _, d := range sets {
		bar := 6.0
		if d.Name == "Lanczos3" {
			bar = 4
		}
		for s, start := range d.Starts {
			model := strdModels[d.Name]
			r := LeastSquares(func(b []float64, i int) float64 { return model(b, d.RawX[i]) }, d.RawY, start, LeastSquaresOptions{})
			worst, worstSD := 15.0, 15.0
			for k := range d.Certified {
				worst = math.Min(worst, digits(r.Params[k], d.Certified[k]))
				worstSD = math.Min(worstSD, digits(r.StdErr[k], d.CertifiedSD[k]))
			}
			t.Logf("%-9s start %d: %s in %d steps, parameters %.1f digits, deviations %.1f, RSS %.1f", d.Name, s+1, r.Status, r.Steps, worst, worstSD, digits(r.RSS, d.RSS))
			if r.Status != Converged || worst < bar || worstSD < bar-2 || digits(r.RSS, d.RSS) < bar || digits(r.SD, d.ResidualSD) < bar {
				t.Errorf("%s from start %d: %v after %d steps, want %v", d.Name, s+1, r, r.Steps, d.Certified)
			}
		}
	}
}

// TestCheckFilterAgainstDenseNormal compares one node of the quadrature with the same normal vector conditioned by
// dense algebra in another tool.
func TestCheckFilterAgainstDenseNormal(t *testing.T) {
	var cases []struct {
		Name                 string
		T                    []float64 `json:"t"`
		Z, CV, Ruler         []float64
		Sigma                float64
		Relax                float64 `json:"T"`
		Rate                 float64
		RateSD               float64 `json:"rate_sd"`
		Noise, Ahead, LogLik float64
		AheadMean            float64 `json:"ahead_mean"`
		AheadSD              float64 `json:"ahead_sd"`
		RefMean              float64 `json:"ref_mean"`
		RefSD                float64 `json:"ref_sd"`
		StartMean            float64 `json:"start_mean"`
		StartSD              float64 `json:"start_sd"`
		StartAheadCov        float64 `json:"start_ahead_cov"`
	}
	readRef(t, "numpy-dense-normal/want.json", &cases)
	if len(cases) == 0 {
		t.Fatal("no cases")
	}
	for _, c := range cases {
		var r []reading
		for i := range c.T {
			x := reading{wk: c.T[i], log: c.Z[i], val: math.Exp(c.Z[i]), cv: c.CV[i], size: i}
			if c.Ruler[i] == 1 {
				x.bias = stRuler
			}
			r = append(r, x)
		}
		f := &Fit{Measure: Area, power: 0.5, WindowWk: 2, biasSD: [2]float64{0.08, 0}}
		ll, s := f.run(&config{noise: c.Noise, sigma: c.Sigma, relaxWk: c.Relax, rate: Rate{c.Rate, c.RateSD}, changeWk: math.NaN()}, r, wildSet{}, f.refWk(r))
		comp := component{state: s, cfg: config{sigma: c.Sigma, relaxWk: c.Relax}}
		w := comp.moments(c.Ahead)
		for _, x := range []struct {
			what      string
			got, want float64
		}{
			{"log likelihood", ll, c.LogLik}, {"mean ahead", w.mean, c.AheadMean}, {"deviation ahead", math.Sqrt(w.variance), c.AheadSD},
			{"mean two weeks ago", s.mean[stRef], c.RefMean}, {"deviation two weeks ago", math.Sqrt(s.cov[stRef][stRef]), c.RefSD},
			{"mean at the start", s.mean[stStart], c.StartMean}, {"deviation at the start", math.Sqrt(s.cov[stStart][stStart]), c.StartSD},
			{"covariance start, ahead", s.cov[stX][stStart] + w.rate*s.cov[stRate][stStart] + w.drift*s.cov[stDrift][stStart], c.StartAheadCov},
		} {
			if math.Abs(x.got-x.want) > 1e-8*math.Max(1, math.Abs(x.want)) {
				t.Errorf("%s: %s is %.12g, want %.12g", c.Name, x.what, x.got, x.want)
			}
		}
	}
}

// TestCheckCampbell follows the group means of a published series (Campbell 2008, Int Wound J: 30 patients under gauze,
// volume -88 % and area -68 % over a median of 41 days, volume 15.1 % a week; 15.1 x 41/7 = 88, so that the weekly fall is
// one of the first size) for four weeks, and asks for day 41: the published end must lie in the 80 % intervals.
func TestCheckCampbell(t *testing.T) {
	var in Input
	for wk := range 5 {
		area, volume := 40*(1-0.68/41*7*float64(wk)), 80*(1-0.151*float64(wk))
		in.Sizes = append(in.Sizes, Size{At: lawStart.AddDate(0, 0, 7*wk), AreaCm2: &area, VolumeCm3: &volume, Method: "outline"})
	}
	in.AheadDays = []float64{13}
	a := assess(in).Ahead[0]
	for _, x := range []struct {
		what string
		b    Band
		want float64
	}{{"area", *a.Area, 40 * 0.32}, {"volume", *a.Volume, 80 * 0.12}} {
		t.Logf("%s on day 41: %.2f (%.2f to %.2f), published %.2f", x.what, x.b.Median, x.b.P10, x.b.P90, x.want)
		if x.want < x.b.P10 || x.want > x.b.P90 {
			t.Errorf("%s on day 41: %+v, published %v", x.what, x.b, x.want)
		}
	}
}
