package fluid

import (
	"fmt"
	"math"
	"time"
)

// Odds of what may lie behind a reading that falls without a recorded change. From memory: an unrecorded change
// is the commoner slip; nobody has published figures.
const (
	chanceUnrecorded = 0.02
	chanceMisread    = 0.01
	mostTales        = 3
)

// fork keeps three explanations of a reading that fell: the canister was changed and nobody wrote it down; this
// reading is wrong; the reading before was wrong. A wrong reading could have been anything in the canister.
func (t *Track) fork(d float64, r Reading) {
	ml := float64(r.Content)
	lnAny := -math.Log(math.Max(float64(t.course.Canister), t.highest+1))
	var next []tale
	for _, old := range t.tales {
		changed, misread := make(bank, len(t.laws)), make(bank, len(t.laws))
		for j, b := range old.beliefs {
			waited := b.wait(t.laws[j], d)
			changed[j] = waited.place(ml, t.errVar)
			changed[j].lnW += math.Log(chanceUnrecorded) + lnAny
			_, mean, bend := t.laws[j].drift(d)
			gain := d * math.Exp(b.x+mean+bend+t.laws[j].meanGain(d))
			misread[j] = waited
			misread[j].v += gain
			// The level that came with the content also says how much came since: without the last term content and
			// level could no longer belong to one normal belief.
			misread[j].varV += gain*gain*(math.Exp(b.varX+t.laws[j].dayVar)-1) + 2*gain*b.covVX
			misread[j].covVX += gain * b.varX
			misread[j].lnW += math.Log(chanceMisread) + lnAny
		}
		next = append(next, tale{beliefs: changed}, tale{beliefs: misread})
		if old.before != nil {
			back := old.before.read(nil, t.laws, newGap(old.span+d, t.leapVar), t.look(r), leapWeighed)
			for j := range back {
				back[j].lnW += math.Log(chanceMisread) + lnAny
			}
			next = append(next, tale{beliefs: back})
		}
	}
	t.tales = next
	t.prune()
}

func (t *Track) ask(at time.Time, text string, open bool) {
	t.asks = append(t.asks, Question{At: at, Text: text, Open: open})
}

func (t *Track) askFall(prev, r Reading) {
	t.ask(r.At, fmt.Sprintf("%.0f mL at %s is below the %.0f mL read at %s and no new canister is recorded: a reading error, or a change nobody wrote down?",
		float64(r.Content), r.At.UTC().Format("2006-01-02 15:04"), float64(prev.Content), prev.At.UTC().Format("2006-01-02 15:04")), true)
}
