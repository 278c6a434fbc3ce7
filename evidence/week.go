package evidence

import (
	"fmt"
	"time"

	"lowtide/week"
)

func init() {
	register("week.GreatCircle", func(in In) (float64, error) {
		return week.GreatCircle(in.Num("lat1"), in.Num("lon1"), in.Num("lat2"), in.Num("lon2")), nil
	})
	register("week.Full.Chance", func(in In) (float64, error) {
		now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
		at := func(name string) time.Time { return now.Add(time.Duration(in.Num(name) * float64(time.Hour))) }
		p, ok := week.Full{Early: at("early_h"), Even: at("even_h"), Late: at("late_h")}.Chance(now, at("h"))
		if !ok {
			return 0, fmt.Errorf("no chance")
		}
		return p, nil
	})
}
