package outline

import (
	"fmt"
	"math"
)

// around is how far the wound goes around a limb, cm: side to side when the head's direction is known, since limbs run
// from head to toe; else between its length and width, in squares.
func (m *Measures) around() float64 {
	if m.AcrossCm != nil {
		return *m.AcrossCm
	}
	return math.Sqrt((m.LengthCm*m.LengthCm + m.WidthCm*m.WidthCm) / 2)
}

// limb is a round body part seen by a camera that looks square at its top.
type limb struct{ radiusCm, distanceCm float64 }

// seen is how far from the middle the flat photo shows a place that lies at an angle around the limb, and by what factor
// it is farther away than the top: x = R sin φ · Z/(Z + R(1 − cos φ)).
func (b limb) seen(angle float64) (x, farther float64) {
	farther = 1 + b.radiusCm*(1-math.Cos(angle))/b.distanceCm
	return b.radiusCm * math.Sin(angle) / farther, farther
}

// horizon is the angle beyond which the limb hides itself: cos φ = R/(Z + R).
func (b limb) horizon() float64 { return math.Acos(b.radiusCm / (b.distanceCm + b.radiusCm)) }

// shows tells whether a wound that looks so wide can lie on the limb, with a little to spare.
func (b limb) shows(wideCm float64) bool {
	x, _ := b.seen(b.horizon())
	return wideCm < 2*0.98*x
}

// lost is the share by which an oval wound that looks so wide is seen too small (equation 9 in docs/model/outline.md).
func (b limb) lost(wideCm float64) float64 {
	lo, hi := 0.0, b.horizon()
	for range 50 {
		if x, _ := b.seen((lo + hi) / 2); x < wideCm/2 {
			lo = (lo + hi) / 2
		} else {
			hi = (lo + hi) / 2
		}
	}
	const steps = 200
	var skin, photo float64
	for i := range steps {
		a0, a1 := lo*float64(i)/steps, lo*float64(i+1)/steps
		x0, _ := b.seen(a0)
		x1, _ := b.seen(a1)
		x, farther := b.seen((a0 + a1) / 2)
		long := math.Sqrt(math.Max(0, 1-4*x*x/(wideCm*wideCm)))
		photo += long * (x1 - x0)
		skin += long * farther * b.radiusCm * (a1 - a0)
	}
	if photo == 0 {
		return 0
	}
	return skin/photo - 1
}

// Girths for whom nobody said how round the limb is: a thigh and a forearm or ankle. From memory.
const (
	wideGirthCm   = 50.0
	narrowGirthCm = 25.0
)

// curveNote says what the curve of the body hides. The area itself stays what a flat photo shows, so that it can be
// compared with outlines for which nobody measured the limb.
func (m *Measures) curveNote(distanceCm float64, opt MeasureOptions, note func(format string, args ...any)) {
	if opt.BodyRadiusCm > 0 {
		share := limb{opt.BodyRadiusCm, distanceCm}.lost(m.around())
		note("Around a limb of %.0f cm a flat photo shows this wound about %s too small: on the skin it is nearer to %.1f cm². The area is left as the photo shows it; the standard error holds the difference.",
			2*math.Pi*opt.BodyRadiusCm, percent(share), m.AreaCm2*(1+share))
		return
	}
	if opt.Exact {
		return
	}
	words := "Nobody said how round the body is here, and the standard error leaves it out. Around a limb the wound is larger than it looks"
	for i, girth := range []float64{wideGirthCm, narrowGirthCm} {
		body := limb{girth / (2 * math.Pi), distanceCm}
		if !body.shows(m.around()) {
			break
		}
		words += fmt.Sprintf([]string{": by about %s on one that is %.0f cm around", ", by %s on one of %.0f cm"}[i], percent(body.lost(m.around())), girth)
	}
	note("%s.", words)
}

// percent says a share in the digits that matter.
func percent(share float64) string {
	switch p := 100 * share; {
	case p < 0.1:
		return "0.1 % or less"
	case p < 3:
		return fmt.Sprintf("%.1f %%", p)
	default:
		return fmt.Sprintf("%.0f %%", p)
	}
}
