package evidence

import (
	"fmt"
	"time"

	"lowtide/fluid"
	"lowtide/week"
)

func init() {
	register("week.GreatCircle", func(in In) (float64, error) {
		return week.GreatCircle(in.Num("lat1"), in.Num("lon1"), in.Num("lat2"), in.Num("lon2")), nil
	})
	register("week.ChanceFull", func(in In) (float64, error) {
		now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
		at := func(name string) fluid.When {
			return fluid.When{At: now.Add(time.Duration(in.Num(name) * float64(time.Hour)))}
		}
		full := fluid.FullAt{Status: fluid.FullComes, Early: at("early_h"), Even: at("even_h"), Late: at("late_h")}
		p, ok := week.ChanceFull(full, now, at("h").At)
		if !ok {
			return 0, fmt.Errorf("no chance")
		}
		return p, nil
	})
}
