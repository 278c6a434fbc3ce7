package healing

import "math"

// LeastSquaresOptions tunes LeastSquares; the zero value is the default.
type LeastSquaresOptions struct {
	// MaxSteps is the most steps tried, 0 for 6000.
	MaxSteps int
}

// LeastSquaresStatus says how a fit ended.
type LeastSquaresStatus string

// Outcomes of LeastSquares.
const (
	Converged   LeastSquaresStatus = "converged"
	TooFew      LeastSquaresStatus = "too few values"
	OutOfSteps  LeastSquaresStatus = "out of steps"
	NotComputed LeastSquaresStatus = "the model cannot be computed at the start"
)

// LeastSquaresFit is the result; Params is the last point reached whatever the status.
type LeastSquaresFit struct {
	Status LeastSquaresStatus
	Params []float64
	// StdErr are standard errors from the curvature at the end.
	StdErr []float64
	// RSS is the residual sum of squares, SD the residual standard deviation.
	RSS, SD float64
	Steps   int
}

// LeastSquares finds the parameters b that minimise Σ (y_i - model(b, i))² by Levenberg and Marquardt's method with
// QR factors and central differences (eq. 17). Columns are scaled by the largest norm seen (Moré 1978) or, when that
// search does not end soundly, by the present one (Marquardt 1963).
//
// model is called with every i in 0..len(y)-1; y is not modified; start has one value a parameter, at most len(y).
// Checked: testdata/ref/nist-strd-nonlinear.
func LeastSquares(model func(b []float64, i int) float64, y, start []float64, opt LeastSquaresOptions) LeastSquaresFit {
	n, p := len(y), len(start)
	out := LeastSquaresFit{Status: TooFew, Params: append([]float64(nil), start...), StdErr: make([]float64, p)}
	if p == 0 || n < p {
		return out
	}
	if opt.MaxSteps == 0 {
		opt.MaxSteps = 6000
	}
	if rss := residuals(model, start, y, make([]float64, n)); !finite(rss) {
		out.Status = NotComputed
		return out
	}
	// a first step that is too bold can land where the model is flat: then a shorter one is tried
	for i, try := range []struct {
		lambda float64
		keep   bool
	}{{1e-3, true}, {1, true}, {1e3, true}, {1e-3, false}} {
		r := searchLeast(model, y, start, try.lambda, try.keep, opt.MaxSteps)
		if i == 0 || r.sound() && !out.sound() || r.sound() == out.sound() && r.RSS < out.RSS {
			out = r
		}
		if out.sound() {
			break
		}
	}
	return out
}

// sound tells whether a search ended at a point that the data pin down in every direction.
func (r LeastSquaresFit) sound() bool {
	for _, se := range r.StdErr {
		if !finite(se) {
			return false
		}
	}
	return r.Status == Converged
}

// searchLeast is one search from a given damping; the damping follows the gain ratio (Nielsen 1999).
func searchLeast(model func([]float64, int) float64, y, start []float64, lambda float64, keep bool, maxSteps int) LeastSquaresFit {
	n, p := len(y), len(start)
	out := LeastSquaresFit{Status: OutOfSteps, Params: append([]float64(nil), start...), StdErr: make([]float64, p)}
	b := out.Params
	res, trial, next := make([]float64, n), make([]float64, n), make([]float64, p)
	rss := residuals(model, b, y, res)
	jac, scale := make([][]float64, p), make([]float64, p)
	for k := range jac {
		jac[k] = make([]float64, n)
	}
	jacobian(model, b, n, jac, scale, keep)
	quiet, worse := 0, 2.0
	for out.Steps < maxSteps {
		out.Steps++
		step, gain, ok := dampedStep(jac, res, scale, lambda)
		small := ok
		for k := range b {
			next[k] = b[k] + step[k]
			small = small && math.Abs(step[k]) <= 1e-12*(math.Abs(b[k])+1e-300)
		}
		newRSS := residuals(model, next, y, trial)
		// a fall that the model foresees to be lost in rounding, twice in a row, ends the search
		if ok && (small || gain <= 1e-28*rss || rss == 0) {
			quiet++
		} else {
			quiet = 0
		}
		if ok && finite(newRSS) && newRSS <= rss {
			ratio := 1.0
			if gain > 0 {
				ratio = (rss - newRSS) / gain
			}
			copy(b, next)
			res, trial = trial, res
			rss = newRSS
			q := 2*ratio - 1
			lambda = math.Max(lambda*math.Min(math.Max(1.0/5, 1-q*q*q), 2), 1e-16)
			worse = 2
			jacobian(model, b, n, jac, scale, keep)
		} else {
			lambda *= worse
			worse *= 2
		}
		if quiet >= 2 || lambda > 1e18 {
			out.Status = Converged
			break
		}
	}
	out.RSS = rss
	if n > p {
		out.SD = math.Sqrt(rss / float64(n-p))
	}
	standardErrors(jac, out.SD, out.StdErr)
	return out
}

func residuals(model func([]float64, int) float64, b, y, res []float64) float64 {
	sum := 0.0
	for i := range y {
		res[i] = y[i] - model(b, i)
		sum += res[i] * res[i]
	}
	return sum
}

// jacobian fills columns of derivatives by central differences; scale gets their norms, or with keep the largest seen.
func jacobian(model func(b []float64, i int) float64, b []float64, n int, jac [][]float64, scale []float64, keep bool) {
	for k := range b {
		at, h := b[k], math.Cbrt(2.2e-16)*math.Abs(b[k])
		if h == 0 {
			h = 1e-8
		}
		norm := 0.0
		for i := range n {
			b[k] = at + h
			up, hi := model(b, i), b[k]
			b[k] = at - h
			jac[k][i] = (up - model(b, i)) / (hi - b[k])
			norm = math.Hypot(norm, jac[k][i])
		}
		b[k] = at
		if keep {
			norm = math.Max(norm, scale[k])
		}
		scale[k] = math.Max(norm, 1e-300)
	}
}

// dampedStep solves (JᵀJ + λD²) s = Jᵀr by QR of the stacked, scaled matrix, and returns the fall of the sum of
// squares that the linear model foresees.
func dampedStep(jac [][]float64, res, scale []float64, lambda float64) (step []float64, gain float64, ok bool) {
	p, n := len(jac), len(res)
	cols := make([][]float64, p)
	for k := range cols {
		cols[k] = make([]float64, n+p)
		for i := range n {
			cols[k][i] = jac[k][i] / scale[k]
		}
		cols[k][n+k] = math.Sqrt(lambda)
	}
	rhs := make([]float64, n+p)
	copy(rhs, res)
	step, ok = householder(cols, rhs)
	for k := range p {
		gain += rhs[k] * rhs[k]
		step[k] /= scale[k]
		ok = ok && finite(step[k])
	}
	return step, gain, ok
}

// householder solves the least-squares problem with the given columns in place; the first len(cols) values of rhs
// become those of Qᵀ·rhs.
func householder(cols [][]float64, rhs []float64) (x []float64, ok bool) {
	p, m := len(cols), len(rhs)
	diag := make([]float64, p)
	for k := range p {
		v := cols[k]
		norm := 0.0
		for i := k; i < m; i++ {
			norm = math.Hypot(norm, v[i])
		}
		if norm == 0 {
			return make([]float64, p), false
		}
		if v[k] > 0 {
			norm = -norm
		}
		diag[k] = norm
		v[k] -= norm
		vv := 0.0
		for i := k; i < m; i++ {
			vv += v[i] * v[i]
		}
		reflect := func(w []float64) {
			dot := 0.0
			for i := k; i < m; i++ {
				dot += v[i] * w[i]
			}
			dot *= 2 / vv
			for i := k; i < m; i++ {
				w[i] -= dot * v[i]
			}
		}
		for j := k + 1; j < p; j++ {
			reflect(cols[j])
		}
		reflect(rhs)
	}
	x = make([]float64, p)
	for k := p - 1; k >= 0; k-- {
		x[k] = rhs[k]
		for j := k + 1; j < p; j++ {
			x[k] -= cols[j][k] * x[j]
		}
		x[k] /= diag[k]
	}
	return x, true
}

// standardErrors are SD times the root of the diagonal of (JᵀJ)⁻¹, column by column: one over the part of a column
// that the others do not explain.
func standardErrors(jac [][]float64, sd float64, out []float64) {
	p := len(jac)
	for k := range p {
		n := len(jac[k])
		rest := make([][]float64, 0, p-1)
		for j := range p {
			if j != k {
				norm := 0.0
				for _, x := range jac[j] {
					norm = math.Hypot(norm, x)
				}
				c := make([]float64, n)
				for i := range n {
					c[i] = jac[j][i] / math.Max(norm, 1e-300)
				}
				rest = append(rest, c)
			}
		}
		rhs := append([]float64(nil), jac[k]...)
		householder(rest, rhs)
		left := 0.0
		for i := p - 1; i < n; i++ {
			left = math.Hypot(left, rhs[i])
		}
		out[k] = sd / left
	}
}
