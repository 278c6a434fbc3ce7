package wording

// sizes are the words for a size beside an earlier one, by the largest share that they are right for. The steps are as
// fine as a ruler is: two nurses who measure one wound differ by a tenth and more.
var sizes = []struct {
	upTo  float64
	words string
}{
	{0.005, "closed"}, {0.1, "nearly closed"}, {0.2, "a sixth of its size"}, {0.29, "a quarter of its size"}, {0.42, "a third of its size"}, {0.58, "half as large"},
	{0.70, "a third smaller"}, {0.80, "a quarter smaller"}, {0.9, "a little smaller"}, {1.1, "the same size"},
	{1.2, "a little larger"}, {1.4, "a third larger"}, {1.7, "half as large again"}, {2.4, "twice as large"}, {3.5, "three times as large"},
}

// Size says how large something is beside what it was: share is the size now over the size then, not negative.
func Size(share float64) string {
	for _, s := range sizes {
		if share <= s.upTo {
			return s.words
		}
	}
	return "many times as large"
}
