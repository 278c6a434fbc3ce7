package outline

import "math"

// A strip is 94 × 21 mm of paper. Millimetres from its middle, x along it, y down:
//
//	 ◉     ◉     ◉   ▄▄▄▄▄   ◉     ◉     ◉      y = −6
//	   words         █code█        words
//	 ◉     ◉     ◉   ▀▀▀▀▀   ◉     ◉     ◉      y = +6
//	−42   −28   −14    0    +14   +28   +42
//
// The twelve marks are black discs of 5 mm with a white eye of 2 mm; they stand on a grid of 14 × 12 mm whose
// middle column the code takes. The code is a QR code (ISO/IEC 18004, version 1, level H) that any reader reads:
// "LT1", A or B, and the span of the marks in tenths of a millimetre (84.0 × 12.0). See docs/format/strip.md.
const (
	StripWidthMm  = 94.0
	StripHeightMm = 21.0
	// RulerMm is the length of the check ruler on the sheet.
	RulerMm = 150.0

	markStepMm  = 14.0
	markRowMm   = 6.0
	markOuterMm = 2.5
	markEyeMm   = 1.0
	moduleMm    = 0.7
	codeSide    = 21
)

// stripColumns are the marks' columns, in steps from the middle.
var stripColumns = [6]int{-3, -2, -1, 1, 2, 3}

// stripMarks are the centres of a strip's marks, mm.
func stripMarks() (out [12]Point) {
	for i, c := range stripColumns {
		out[2*i] = Point{float64(c) * markStepMm, -markRowMm}
		out[2*i+1] = Point{float64(c) * markStepMm, markRowMm}
	}
	return out
}

// stripCodes are the two codes, row by row. They are text and not computed, so that reading a photo needs no
// encoder; the tests make them again with two independent encoders.
var stripCodes = map[string][codeSide]string{
	"A": {
		"#######....#..#######",
		"#.....#...###.#.....#",
		"#.###.#.#.#...#.###.#",
		"#.###.#.#..##.#.###.#",
		"#.###.#..###..#.###.#",
		"#.....#...#.#.#.....#",
		"#######.#.#.#.#######",
		".........#...........",
		"...##.##.#..#....##..",
		"##.##..##....#..#.#..",
		"..#.######.#.###.###.",
		"....#..###.##.....#..",
		"##...##..#.##.##.#...",
		"........###.##.#.#...",
		"#######.#...#.#.#..#.",
		"#.....#...#.###.#####",
		"#.###.#.##.#..###.###",
		"#.###.#.#.#..#..##...",
		"#.###.#...#...###..##",
		"#.....#..##.##....##.",
		"#######...#...###.##.",
	},
	"B": {
		"#######.#.###.#######",
		"#.....#.....#.#.....#",
		"#.###.#....#..#.###.#",
		"#.###.#.####..#.###.#",
		"#.###.#..#..#.#.###.#",
		"#.....#..#..#.#.....#",
		"#######.#.#.#.#######",
		".........#.##........",
		"..#.###.#.#.##...#..#",
		".###.#.##.#.####.#.##",
		"#.#.#.#.##..#...#.##.",
		"###..#.#..#.#.###..#.",
		"..###.#.##.####..#.#.",
		"........###..##..#..#",
		"#######...#.#.###.#.#",
		"#.....#.#.#...##.....",
		"#.###.#.#........####",
		"#.###.#..#.#.#.#.###.",
		"#.###.#.##.###..##..#",
		"#.....#..#######.#.##",
		"#######....#.##.#.#.#",
	},
}

// StripInk tells whether strip "A" or "B" is black at a place, mm from its middle; its words are left out. ok is
// false beside the paper. Renderings for tests are made from it.
func StripInk(which string, x, y float64) (black, ok bool) {
	if math.Abs(x) > StripWidthMm/2 || math.Abs(y) > StripHeightMm/2 {
		return false, false
	}
	const half = codeSide * moduleMm / 2
	if math.Abs(x) < half && math.Abs(y) < half {
		col, row := int((x+half)/moduleMm), int((y+half)/moduleMm)
		return stripCodes[which][min(row, codeSide-1)][min(col, codeSide-1)] == '#', true
	}
	c := math.Round(x / markStepMm)
	if c == 0 || math.Abs(c) > 3 {
		return false, true
	}
	dx, dy := x-c*markStepMm, math.Abs(y)-markRowMm
	r := dx*dx + dy*dy
	return r < markOuterMm*markOuterMm && r > markEyeMm*markEyeMm, true
}
