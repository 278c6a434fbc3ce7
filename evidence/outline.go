package evidence

import (
	"lowtide/outline"
	"lowtide/unit"
)

func init() {
	register("outline.EllipseArea", func(in In) (float64, error) {
		return float64(outline.EllipseArea(unit.Length(in.Num("length_cm")), unit.Length(in.Num("width_cm")))), nil
	})
}
