package outline

// mostWrong is how many of the 441 modules may read wrong. The two codes differ in far more, and so does any other
// text in such a code: level H keeps 18 of its 26 words apart.
const mostWrong = 24

// read compares the picture under the strip's code, where h puts it, with both codes. The threshold is a plane fitted with each
// code, so that light may fall off across it.
func (f *found) read(g *grey, h [9]float64) {
	var v [codeSide][codeSide]float64
	const half = codeSide * moduleMm / 2
	for r := range codeSide {
		for c := range codeSide {
			x, y := -half+(float64(c)+0.5)*moduleMm, -half+(float64(r)+0.5)*moduleMm
			for _, d := range [5]Point{{0, 0}, {-.2, 0}, {.2, 0}, {0, -.2}, {0, .2}} {
				p := apply(h, Point{x + d.X*moduleMm, y + d.Y*moduleMm})
				if !(p.X >= 0 && p.Y >= 0 && p.X <= float64(g.w) && p.Y <= float64(g.h)) {
					f.wrong = codeSide * codeSide
					return
				}
				v[r][c] += g.at(p.X, p.Y) / 5
			}
		}
	}
	f.wrong = codeSide * codeSide
	for _, which := range [2]string{"A", "B"} {
		code := stripCodes[which]
		wrong, frame, contrast := differences(&v, &code)
		if wrong < f.wrong {
			f.wrong = wrong
		}
		if frame <= 8 && contrast > 15 {
			f.framed = true
		}
		if wrong <= mostWrong && contrast > 15 {
			f.which = which
		}
	}
}

// differences fits brightness = a + b·column + c·row + d·(light or dark) and counts the modules, and those of the
// three corner squares, that lie on the wrong side of the plane. contrast is 2d.
func differences(v *[codeSide][codeSide]float64, code *[codeSide]string) (wrong, frame int, contrast float64) {
	a, b := square(4), make([]float64, 4)
	sign := func(r, c int) float64 {
		if code[r][c] == '#' {
			return -1
		}
		return 1
	}
	row := func(r, c int) [4]float64 {
		return [4]float64{1, (float64(c) - 10) / 10, (float64(r) - 10) / 10, sign(r, c)}
	}
	for r := range codeSide {
		for c := range codeSide {
			x := row(r, c)
			for i := range x {
				for j := range x {
					a[i][j] += x[i] * x[j]
				}
				b[i] += x[i] * v[r][c]
			}
		}
	}
	inv, ok := cholesky(a)
	if !ok {
		return codeSide * codeSide, codeSide * codeSide, 0
	}
	var f [4]float64
	for i := range f {
		for j := range b {
			f[i] += inv[i][j] * b[j]
		}
	}
	for r := range codeSide {
		for c := range codeSide {
			x := row(r, c)
			if (v[r][c]-f[0]*x[0]-f[1]*x[1]-f[2]*x[2])*x[3] <= 0 {
				wrong++
				if r < 7 && c < 7 || r < 7 && c > 13 || r > 13 && c < 7 {
					frame++
				}
			}
		}
	}
	return wrong, frame, 2 * f[3]
}
