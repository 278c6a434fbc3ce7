package evidence

import (
	"strconv"

	"lowtide/outline"
	"lowtide/unit"
)

func init() {
	register("outline.EllipseArea", func(in In) (float64, error) {
		return float64(outline.EllipseArea(unit.Length(in.Num("length_cm")), unit.Length(in.Num("width_cm")))), nil
	})
	register("outline.Add", func(in In) (float64, error) {
		var list []outline.Summand
		photos := in.Nums("photo")
		for i, a := range in.Nums("area_cm2") {
			x := outline.Summand{AreaCm2: a, Photo: strconv.FormatFloat(photos[i], 'g', -1, 64)}
			for _, part := range []struct{ field, name string }{{"print_size", "print size"}, {"tilt", "marks and lens"}, {"line", "re-tracing"}} {
				if se := in.Nums(part.field); len(se) > 0 {
					x.Parts = append(x.Parts, outline.Part{Name: part.name, SE: se[i]})
				}
			}
			list = append(list, x)
		}
		return outline.Add(list).SE, nil
	})
}
