package outline

import "math"

// blur smooths a field with a Gaussian of the given standard deviation in pixels; the border's value holds beyond it.
func blur(f []float32, w, h int, sigma float64) []float32 {
	r := max(1, int(math.Ceil(2.6*sigma)))
	kernel := make([]float32, 2*r+1)
	sum := 0.0
	for i := range kernel {
		d := float64(i - r)
		kernel[i] = float32(math.Exp(-d * d / (2 * sigma * sigma)))
		sum += float64(kernel[i])
	}
	for i := range kernel {
		kernel[i] /= float32(sum)
	}
	tmp, out := make([]float32, w*h), make([]float32, w*h)
	for y := range h {
		row, dst := f[y*w:(y+1)*w], tmp[y*w:(y+1)*w]
		for x := range w {
			s := float32(0)
			if x >= r && x < w-r {
				for i, k := range kernel {
					s += k * row[x-r+i]
				}
			} else {
				for i, k := range kernel {
					s += k * row[min(max(x-r+i, 0), w-1)]
				}
			}
			dst[x] = s
		}
	}
	for y := range h {
		dst := out[y*w : (y+1)*w]
		for i, k := range kernel {
			yy := min(max(y-r+i, 0), h-1)
			for x, v := range tmp[yy*w : (yy+1)*w] {
				dst[x] += k * v
			}
		}
	}
	return out
}

// blurWeighted is the weighted mean of the surroundings; where there is no weight at all the value stays.
func blurWeighted(f, weight []float32, w, h int, sigma float64) []float32 {
	wf := make([]float32, len(f))
	for i := range f {
		wf[i] = f[i] * weight[i]
	}
	num, den := blur(wf, w, h, sigma), blur(weight, w, h, sigma)
	for i := range num {
		if den[i] > 1e-4 {
			num[i] /= den[i]
		} else {
			num[i] = f[i]
		}
	}
	return num
}
