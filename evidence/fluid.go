package evidence

import (
	"math"

	"lowtide/fluid"
	"lowtide/unit"
)

func init() {
	register("fluid.Expected", func(in In) (float64, error) {
		return float64(fluid.Expected(unit.Area(in.Num("area_cm2")))), nil
	})
	register("fluid.Protein", func(in In) (float64, error) {
		return fluid.Protein(unit.Rate(in.Num("mL_d"))), nil
	})
	register("fluid.MedianSoftTissue", func(In) (float64, error) { return float64(fluid.MedianSoftTissue), nil })
	register("fluid.MedianOpenAbdomen", func(In) (float64, error) { return float64(fluid.MedianOpenAbdomen), nil })
	// The chance of less than an amount, as the chances of a full canister use it.
	register("fluid.Mixture.Below", func(in In) (float64, error) {
		return mixtureOf(in).Below(math.Log(in.Num("mL"))), nil
	})
	// The quantile of a mixture of log-normals, as forecasts use it.
	register("fluid.Mixture.Quantile", func(in In) (float64, error) {
		return math.Exp(mixtureOf(in).Quantile(in.Num("p"))), nil
	})
}

// mixtureOf reads weights, means and standard deviations of the log.
func mixtureOf(in In) fluid.Mixture {
	w, mean, sd := in.Nums("weight"), in.Nums("mean"), in.Nums("sd")
	var m fluid.Mixture
	for i := range w {
		m = append(m, fluid.Normal{Weight: w[i], Mean: mean[i], SD: sd[i]})
	}
	return m
}
