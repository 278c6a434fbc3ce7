package evidence

import (
	"time"

	"lowtide/payer"
	"lowtide/rule"
)

// day reads a date among the inputs; a missing one is the zero time.
func day(in In, name string) (time.Time, error) {
	s := in.Text(name)
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.DateOnly, s)
}

// ymd writes a day as a number, such as 20260629.
func ymd(t time.Time) float64 {
	y, m, d := t.Date()
	return float64(y*10000 + int(m)*100 + d)
}

func init() {
	later := func(add func(time.Time, int) time.Time) Figure {
		return func(in In) (float64, error) {
			from, err := day(in, "from")
			return ymd(add(from, int(in.Num("n")))), err
		}
	}
	register("payer.Days", func(in In) (float64, error) {
		from, err := day(in, "from")
		if err != nil {
			return 0, err
		}
		to, err := day(in, "to")
		return float64(payer.Days(from, to)), err
	})
	register("payer.AddDays", later(payer.AddDays))
	register("payer.AddMonths", later(payer.AddMonths))
	end := func(which func(payer.Clock) time.Time) Figure {
		return func(in In) (float64, error) {
			set, err := rule.Builtin()
			if err != nil {
				return 0, err
			}
			start, err := day(in, "start")
			if err != nil {
				return 0, err
			}
			home, err := day(in, "home")
			return ymd(which(set.Payer("us-medicare").At(start, home, start))), err
		}
	}
	register("payer.End.days", end(func(c payer.Clock) time.Time { return c.ByDays }))
	register("payer.End.months", end(func(c payer.Clock) time.Time { return c.ByMonths }))
}
