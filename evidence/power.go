package evidence

import (
	"fmt"
	"time"

	"lowtide/power"
	"lowtide/rule/value"
)

func init() {
	register("power.RunTime", func(in In) (float64, error) {
		m, ok := power.Class(in.Text("class"), warns())
		if !ok {
			return 0, fmt.Errorf("no battery in this class")
		}
		return m.RunTime(in.Num("duty")).Hours, nil
	})
	register("power.RunTime/low_mark_min", func(in In) (float64, error) {
		m := power.Fit(in.Num("hours"), 0, in.Num("hours")/2, 1)
		m.LowPercent = warns()
		return m.RunTime(0).LowMarkMin, nil
	})
	register("power.RunTime/critical_mark_min", func(in In) (float64, error) {
		m := power.Fit(in.Num("hours"), 0, in.Num("hours")/2, 1)
		return m.RunTime(0).CriticalMarkMin, nil
	})
}

// warns is the built-in mark at which a pump warns, percent.
func warns() float64 {
	rules, err := builtin()
	if err != nil {
		panic(err)
	}
	return rules.Values(time.Now()).In(value.BatteryWarns, "%")
}
