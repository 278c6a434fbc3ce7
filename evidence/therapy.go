package evidence

import "lowtide/therapy"

func init() {
	register("therapy.Program.MeanMmHg", func(in In) (float64, error) { return programOf(in).MeanMmHg(), nil })
	register("therapy.Program.CyclesADay", func(in In) (float64, error) { return programOf(in).CyclesADay(), nil })
	register("therapy.Program.Shares/first", func(in In) (float64, error) { return programOf(in).Shares()[0].Share, nil })
}

func programOf(in In) therapy.Program {
	depths, holds := in.Nums("suction_mmHg"), in.Nums("hold_min")
	var p therapy.Program
	for i := range depths {
		p = append(p, therapy.Stage{SuctionMmHg: depths[i], HoldMin: holds[i]})
	}
	return p
}
