package outline

import "math"

// cholesky solves A x = b for a symmetric positive definite A (n × n, row by row) and returns also the inverse of A.
// ok is false when A is not positive definite to working precision: the unknowns are not determined.
func cholesky(a [][]float64) (inverse [][]float64, ok bool) {
	n := len(a)
	l := square(n)
	for i := range n {
		for j := 0; j <= i; j++ {
			s := a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
				continue
			}
			if !(s > 1e-13*math.Abs(a[i][i])) {
				return nil, false
			}
			l[i][i] = math.Sqrt(s)
		}
	}
	inverse = square(n)
	for c := range n {
		x := make([]float64, n)
		for i := range n {
			if i == c {
				x[i] = 1
			}
			for k := range i {
				x[i] -= l[i][k] * x[k]
			}
			x[i] /= l[i][i]
		}
		for i := n - 1; i >= 0; i-- {
			for k := i + 1; k < n; k++ {
				x[i] -= l[k][i] * x[k]
			}
			x[i] /= l[i][i]
			inverse[i][c] = x[i]
		}
	}
	return inverse, true
}

// gauss solves A x = b by elimination with row pivots, for matrices that are not positive definite. It changes a and b.
func gauss(a [][]float64, b []float64) ([]float64, bool) {
	n := len(a)
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		if math.Abs(a[p][c]) < 1e-14 {
			return nil, false
		}
		a[c], a[p], b[c], b[p] = a[p], a[c], b[p], b[c]
		for r := c + 1; r < n; r++ {
			f := a[r][c] / a[c][c]
			for k := c; k < n; k++ {
				a[r][k] -= f * a[c][k]
			}
			b[r] -= f * b[c]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			b[i] -= a[i][k] * b[k]
		}
		b[i] /= a[i][i]
	}
	return b, true
}

func square(n int) [][]float64 {
	flat := make([]float64, n*n)
	out := make([][]float64, n)
	for i := range out {
		out[i] = flat[i*n : (i+1)*n : (i+1)*n]
	}
	return out
}
