package evidence

import (
	"fmt"

	"lowtide/power"
)

func init() {
	register("power.RunTime", func(in In) (float64, error) {
		m, ok := power.Class(in.Text("class"))
		if !ok {
			return 0, fmt.Errorf("no battery in this class")
		}
		return m.RunTime(in.Num("duty")).Hours, nil
	})
	register("power.RunTime/low_mark_min", func(in In) (float64, error) {
		m := power.Fit(in.Num("hours"), 0, in.Num("hours")/2, 1)
		return m.RunTime(0).LowMarkMin, nil
	})
	register("power.RunTime/critical_mark_min", func(in In) (float64, error) {
		m := power.Fit(in.Num("hours"), 0, in.Num("hours")/2, 1)
		return m.RunTime(0).CriticalMarkMin, nil
	})
}
