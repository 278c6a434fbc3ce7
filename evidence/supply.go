package evidence

import (
	"lowtide/supply"
)

func init() {
	law := func(in In) supply.NegBin { return supply.NegBin{R: in.Num("r"), P: in.Num("p")} }
	register("supply.NegBin.Quantile", func(in In) (float64, error) { return float64(law(in).Quantile(in.Num("q"))), nil })
	register("supply.NegBin.CDF", func(in In) (float64, error) { return law(in).CDF(int(in.Num("n"))), nil })
	register("supply.NegBin.Variance", func(in In) (float64, error) { return law(in).Variance(), nil })
	register("supply.Z", func(in In) (float64, error) { return supply.Z(in.Num("p")), nil })
	register("supply.ReorderPoint", func(in In) (float64, error) {
		return supply.ReorderPoint(in.Num("d"), in.Num("v"), supply.Lead{Days: in.Num("l"), SDDays: in.Num("sl"), Service: in.Num("s")}).Point, nil
	})
	register("supply.Usual.mean", func(in In) (float64, error) {
		mean, _, _ := supply.Usual(in.Num("every_h"), in.Num("days"))
		return mean, nil
	})
	register("supply.Usual.fewest", func(in In) (float64, error) {
		_, fewest, _ := supply.Usual(in.Num("every_h"), in.Num("days"))
		return float64(fewest), nil
	})
	register("supply.Usual.most", func(in In) (float64, error) {
		_, _, most := supply.Usual(in.Num("every_h"), in.Num("days"))
		return float64(most), nil
	})
	register("supply.Canister.Count", func(in In) (float64, error) {
		return float64(supply.Canister{StayH: 168, UsableML: in.Num("usable_mL")}.Count(in.Num("rate_mL_d"), in.Num("days"))), nil
	})
}
