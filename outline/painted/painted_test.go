package painted

import "testing"

// TestScenes: every painter keeps its word about mask, tissue and loop, and paints the same from the same seed.
func TestScenes(t *testing.T) {
	for name, paint := range map[string]Painter{"pigment": Pigment, "palette": Palette, "hard": Hard, "held": Held} {
		for seed := uint64(1); seed <= 2; seed++ {
			s := paint(seed, 160)
			loop := Fill(s.Loop, s.Width, s.Height)
			if r := float64(count(loop)) / float64(count(s.Mask)); r < 1.4 || r > 2 {
				t.Errorf("%s %d: loop %.2f times the wound, want 1.4 to 2", name, seed, r)
			}
			if d := Dice(loop, s.Mask); d < 0.66 || d > 0.84 {
				t.Errorf("%s %d: the loop's own Dice is %.3f", name, seed, d)
			}
			for i, m := range s.Mask {
				if m != (s.Tissue[i] != Outside) {
					t.Fatalf("%s %d: tissue and mask disagree at %d", name, seed, i)
				}
			}
			again := paint(seed, 160)
			for i, m := range s.Mask {
				x, y := i%s.Width, i/s.Width
				if m != again.Mask[i] || s.Image.At(x, y) != again.Image.At(x, y) {
					t.Fatalf("%s %d: not the same twice", name, seed)
				}
			}
		}
	}
}

// TestFillDice: a square of 10 x 10 with an island of 4 x 4, against itself without.
func TestFillDice(t *testing.T) {
	square := []Point{{5, 5}, {15, 5}, {15, 15}, {5, 15}}
	whole := Fill(square, 20, 20)
	holed := Fill(square, 20, 20, []Point{{8, 8}, {12, 8}, {12, 12}, {8, 12}})
	if count(whole) != 100 || count(holed) != 84 {
		t.Errorf("%d and %d pixels, want 100 and 84", count(whole), count(holed))
	}
	if d := Dice(whole, holed); d != 2.0*84/184 { // 2 * 84 common of 100 + 84
		t.Errorf("Dice %g", d)
	}
}
