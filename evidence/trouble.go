package evidence

import (
	"fmt"

	"lowtide/trouble"
)

func init() {
	// Two causes and one sign: "a" with the prior, everything else is "other".
	register("trouble.Posterior", func(in In) (float64, error) {
		p, yes, no := in.Num("prior"), in.Num("yes"), in.Num("otherwise")
		m := trouble.Model{Causes: []trouble.Cause{{ID: "a", Prior: p}, {ID: "other", Prior: 1 - p}},
			Signs: []trouble.Sign{{ID: "s", Answers: []trouble.Answer{{ID: "yes"}, {ID: "no"}}, Usual: []float64{no, 1 - no}, Given: map[string][]float64{"a": {yes, 1 - yes}}}}}
		return m.Posterior(trouble.State{Signs: map[string]string{"s": "yes"}})[0], nil
	})
	// Causes with one sure check each.
	register("trouble.Expected", func(in In) (float64, error) {
		var m trouble.Model
		chance, minutes := in.Nums("chance"), in.Nums("minutes")
		if len(chance) != len(minutes) {
			return 0, fmt.Errorf("as many chances as minutes")
		}
		for i := range chance {
			id := fmt.Sprint(i)
			m.Causes = append(m.Causes, trouble.Cause{ID: id, Prior: chance[i]})
			m.Checks = append(m.Checks, trouble.Check{ID: id, Minutes: minutes[i], Finds: map[string]float64{id: 1}})
		}
		_, expect := m.Plan(trouble.State{VisitMin: in.Num("visit")})
		return expect, nil
	})
}
