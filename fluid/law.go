package fluid

// law is one assumption about how the output moves: it stays fixed for a whole course, and the readings
// decide how much each law is believed (eq. 9).
type law struct {
	// walkVarD is the variance that the log level gains per day.
	walkVarD float64
	// dayVar is the variance of the log output of one day about the level.
	dayVar float64
	// driftD is the steady change of the log level per day.
	driftD float64
	// lasting says that the drift goes on in forecasts; otherwise it is damped (eq. 2).
	lasting bool
	// prior is the belief before any reading.
	prior float64
}

// choice is one value of a law's part with its weight before any reading.
type choice struct{ value, weight float64 }

// The laws: every combination of these, but for drifts of the liveliest walk. They span "hardly moves" to "doubles
// or halves within days"; how they were set stands in docs/model/fluid.md, section 7.
var (
	walkSDs = []choice{{0.02, 0.45}, {0.12, 0.40}, {0.25, 0.15}}
	daySDs  = []choice{{0.065, 0.67}, {0.38, 0.33}}
	drifts  = []trend{{-0.28, true, 0.08}, {-0.085, true, 0.24}, {-0.2, false, 0.12}, {0, false, 0.42}, {0.09, false, 0.14}}
)

// trend is one drift of the level a day, damped in forecasts or lasting, with its weight before any reading.
type trend struct {
	perD    float64
	lasting bool
	weight  float64
}

const (
	// leapPerD is the chance per day of a sudden change of level, and leapVar the variance of its log size:
	// sd 0.45 is a factor of 1.6 up or down.
	leapPerD = 0.045
	leapVar  = 0.2
	// datedLeapVar is the variance of a sudden change's log size when changes are dated: sd 1.2 is a factor of 3.4, so that
	// an output that stops, as behind a blockage, is a change too and no string of misreadings.
	datedLeapVar = 1.5
	// shortestD is the time under which two readings are looks at one content.
	shortestD = 1e-5
	// driftMemoryD damps a drift in forecasts: nobody knows that a fall goes on for weeks, and a fall that
	// does not come is the dangerous error.
	driftMemoryD = 7
	// renewPerD is the rate at which a course changes the law that it moves by.
	renewPerD = 0.01
	// walkMemoryD bounds how far a level wanders in forecasts.
	walkMemoryD = 4
)

var laws = buildLaws()

// datingLaws weigh the laws when sudden changes are dated: a finer grid of swings from day to day, because a swing that
// falls between two coarse ones looks like a change, and no lively walk, which is a run of sudden changes under
// another name.
var datingLaws = combine(
	[]choice{{0.02, 1}},
	[]choice{{0.08, 0.3}, {0.16, 0.3}, {0.32, 0.4}},
	[]trend{{-0.28, true, 0.1}, {-0.14, true, 0.15}, {-0.06, true, 0.2}, {0, false, 0.45}, {0.1, false, 0.1}},
)

// soundingLaws are the plain laws under which the reading error is weighed.
var soundingLaws = combine([]choice{{0.1, 1}}, []choice{{0.08, 0.5}, {0.32, 0.5}}, []trend{{-0.01, false, 1}})

func buildLaws() []law {
	n := len(walkSDs) - 1
	lively := combine(walkSDs[n:], daySDs, []trend{{0, false, 1}}) // the liveliest walk swamps any drift
	return append(combine(walkSDs[:n], daySDs, drifts), lively...)
}

func combine(walks, days []choice, drifts []trend) []law {
	var out []law
	for _, w := range walks {
		for _, d := range days {
			for _, m := range drifts {
				out = append(out, law{
					walkVarD: w.value * w.value, dayVar: d.value * d.value, driftD: m.perD, lasting: m.lasting,
					prior: w.weight * d.weight * m.weight,
				})
			}
		}
	}
	return out
}
