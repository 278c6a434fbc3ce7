package chart

import (
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// closing is a wound that falls by a tenth a week, measured for six weeks; the last size was read with a digit too many
// when odd is set.
func closing(odd bool) *casebook.Case {
	parts := []any{0.0, casebook.PersonRegistered{Name: "Invented Person", Place: "home", Zone: "Europe/Berlin"}, 0.1, casebook.WoundFound{Wound: "A", Site: "heel", Type: "diabetic foot"}}
	side, depth := 6.0, 2.5
	for wk := range 6 {
		m := casebook.WoundMeasured{Wound: "A", LengthCm: ptr(side), WidthCm: ptr(side * 0.6), DepthCm: ptr(depth), Method: "ruler", Convention: "head to toe"}
		if odd && wk == 3 {
			m.WidthCm = ptr(side * 6)
		}
		parts = append(parts, float64(wk*168+1), m)
		side, depth = side*0.95, depth*0.85
	}
	return casebook.Fold("c", story(parts...))
}

// TestHealingChart: the drawing has error bars, band, milestones with words and now; the tables have every size and
// the weeks ahead.
func TestHealingChart(t *testing.T) {
	c := closing(true)
	now := t0.Add(5*168*time.Hour + 30*time.Hour)
	k := stateOf(t, c, now)
	h := k.Healing("A")
	for _, width := range []float64{358, 920} {
		d := Healing(k, h, width, "h")
		svg := d.SVG()
		wellFormed(t, svg)
		for _, want := range []string{"Area, cm²", "Depth, cm", "now", "20, 50, 53 % gone", "90 % gone", "does not fit", "four times in five"} {
			if !strings.Contains(svg, want) {
				t.Errorf("%g px: no %q", width, want)
			}
		}
		for _, s := range d.Shapes {
			x, ok := s.(Text)
			if !ok {
				continue
			}
			w := wide(x.Words, x.SizePx)
			left := map[Anchor]float64{Start: x.At.X, Middle: x.At.X - w/2, End: x.At.X - w}[x.Anchor]
			if left < -1 || x.At.Y > d.HeightPx {
				t.Errorf("%g px: %q starts at %g, %g", width, x.Words, left, x.At.Y)
			}
		}
	}
	table := HealingTable(k, h)
	if len(table.Rows) != 6 || !strings.Contains(strings.Join(table.Rows[3].Cells, ";"), "area does not fit") || table.Rows[0].Entry == "" {
		t.Errorf("table: %v", table.Rows)
	}
	// 6 × 3.6 by ruler: π/4 of 21.6 = 16.96 read, divided by 1.40·π/4 = 15.43.
	if got := table.Rows[0].Cells[2] + "; " + table.Rows[0].Cells[3]; !strings.HasPrefix(got, "17 cm²; 15.4 cm² (") {
		t.Errorf("first row: %s", got)
	}
	ahead := HealingAheadTable(k, h)
	if len(ahead.Rows) != 5 {
		t.Errorf("%d rows ahead, want today and four weeks", len(ahead.Rows))
	}
}

// TestHealingChartOfNothing: without sizes the strips say so.
func TestHealingChartOfNothing(t *testing.T) {
	c := casebook.Fold("c", story(0.1, casebook.WoundFound{Wound: "A", Site: "heel", Type: "other"}))
	k := stateOf(t, c, t0.Add(time.Hour))
	h := k.Healing("A")
	svg := Healing(k, h, 358, "h").SVG()
	wellFormed(t, svg)
	if strings.Count(svg, "not known") != 2 {
		t.Error("an empty strip does not say that nothing is known")
	}
}

// TestWordsKeepApart: on a phone and on a laptop no words of a wound's chart lie over others, also when several markers
// fall due near each other and beside a size that does not fit.
func TestWordsKeepApart(t *testing.T) {
	grows := func(byWk float64) *casebook.Case {
		parts := []any{0.0, casebook.PersonRegistered{Name: "Invented Person", Place: "home", Zone: "Europe/Berlin"}, 0.1, casebook.WoundFound{Wound: "A", Site: "right foot, sole", Type: "diabetic foot"}}
		side := 5.5
		for wk := range 6 {
			m := casebook.WoundMeasured{Wound: "A", LengthCm: ptr(side), WidthCm: ptr(side * 0.8), DepthCm: ptr(2.5), Method: "ruler", Convention: "head to toe"}
			if wk == 4 {
				m.WidthCm = ptr(side * 0.1)
			}
			parts = append(parts, float64(wk*168+1), m)
			side *= byWk
		}
		return casebook.Fold("c", story(parts...))
	}
	for _, byWk := range []float64{1.07, 1, 0.95, 0.8} {
		c := grows(byWk)
		for day := 0; day < 60; day += 5 {
			now := t0.Add(time.Duration(37+day) * 24 * time.Hour)
			k := stateOf(t, c, now)
			h := k.Healing("A")
			for _, width := range []float64{358, 920} {
				d := Healing(k, h, width, "h")
				var boxes []box
				var words []string
				for _, s := range d.Shapes {
					x, ok := s.(Text)
					if !ok || x.Words == "now" {
						continue
					}
					w := wide(x.Words, x.SizePx)
					left := map[Anchor]float64{Start: x.At.X, Middle: x.At.X - w/2, End: x.At.X - w}[x.Anchor]
					b := box{left, x.At.Y - x.SizePx*0.7, left + w, x.At.Y}
					for i, o := range boxes {
						if b.meets(o) {
							t.Errorf("times %g a week, day %d, %g px: %q lies over %q", byWk, day, width, x.Words, words[i])
						}
					}
					boxes, words = append(boxes, b), append(words, x.Words)
				}
			}
		}
	}
}
