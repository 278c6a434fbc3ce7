package pumplog

func (rd *reader) suction(cell []byte, s *Sample) string {
	cell = trim(cell)
	if len(cell) == 0 {
		return ""
	}
	v, ok := number(cell, rd.decimal)
	if !ok {
		if noneWords[fold(text(cell, 20))] || string(cell) == "-" || string(cell) == "--" {
			return ""
		}
		return "the suction is not a number"
	}
	v *= rd.f.suction
	switch {
	case v > deepest:
		return "the suction is deeper than 400 mmHg"
	case v < -aboveMmHg:
		return "the suction lies on the other side of ambient than the rest"
	case v < 0:
		v = 0
	}
	s.SuctionMmHg = float32(v)
	return ""
}

func (rd *reader) value(f [][]byte, i int, unit float64, low, high float64, words string) float32 {
	if i < 0 || i >= len(f) || len(f[i]) == 0 {
		return nan32
	}
	v, ok := number(f[i], rd.decimal)
	if ok {
		if v *= unit; v >= low && v <= high {
			return float32(v)
		}
		rd.cells[words+" outside its range"]++
		return nan32
	}
	w := fold(text(f[i], 20))
	switch {
	case w == "" || noneWords[w] && !noWords[w]:
	case i == rd.i.motor && yesWords[w]:
		return 100
	case i == rd.i.motor && noWords[w]:
		return 0
	default:
		rd.cells[words+" not a number"]++
	}
	return nan32
}

func (rd *reader) answer(f [][]byte, i int, words string) uint8 {
	if i < 0 || i >= len(f) {
		return 0
	}
	c := trim(f[i])
	switch string(c) {
	case "":
		return 0
	case "1", "on", "yes", "true":
		return Yes
	case "0", "off", "no", "false":
		return No
	}
	w := fold(text(c, 20))
	switch {
	case yesWords[w]:
		return Yes
	case noWords[w]:
		return No
	}
	rd.cells[words+" not understood"]++
	return 0
}
