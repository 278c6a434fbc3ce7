package evidence

import (
	"fmt"

	"lowtide/pumplog"
)

func init() {
	// The nth lasting change of a series, as the number of the last point before it.
	register("pumplog.Breaks", func(in In) (float64, error) {
		b, n := pumplog.Breaks(in.Nums("y"), int(in.Num("least")), 5), int(in.Num("n"))
		if n > len(b) {
			return 0, fmt.Errorf("%d changes were found, not %d", len(b), n)
		}
		return float64(b[n-1].Index), nil
	})
}
