package evidence

import (
	"fmt"
	"math"

	"lowtide/outline"
)

func init() {
	register("outline.ShapeVolume", func(in In) (float64, error) {
		area := math.Pi / 4 * in.Num("length_cm") * in.Num("width_cm")
		for _, s := range outline.Shapes(area, in.Num("depth_cm")) {
			if s.Name == in.Text("model") {
				return s.Cm3, nil
			}
		}
		return 0, fmt.Errorf("no model %q", in.Text("model"))
	})
}
