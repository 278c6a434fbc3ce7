package evidence

import "lowtide/unit"

func init() {
	register("unit.Convert", func(in In) (float64, error) {
		return unit.Convert(in.Num("x"), in.Text("from"), in.Text("to"))
	})
	register("unit.EllipsePerimeter", func(in In) (float64, error) {
		return float64(unit.EllipsePerimeter(unit.Length(in.Num("length_cm")), unit.Length(in.Num("width_cm")))), nil
	})
}
