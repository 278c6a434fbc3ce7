package evidence

import "lowtide/unit"

func init() {
	register("unit.Convert", func(in In) (float64, error) {
		return unit.Convert(in.Num("x"), in.Text("from"), in.Text("to"))
	})
}
