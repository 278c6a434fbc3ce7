// Command outline prints how well painted photos are measured: strips and wounds through cameras whose tilt, lens,
// noise, blur, light and skin tone are known, against the wound's true area. Painted is not real.
//
//	go run ./evidence/cmd/outline [-n 400] [-one 100] [-hard 2000] [-seed 1]
//	go run ./evidence/cmd/outline -assisted 40
package main

import (
	"flag"
	"fmt"
	"os"

	"lowtide/evidence/scene"
)

func main() {
	n := flag.Int("n", 400, "photos with two strips")
	hard := flag.Int("hard", 2000, "photos with a fault")
	only := flag.String("fault", "", "paint only this fault among the hard ones")
	one := flag.Int("one", 100, "photos with one strip")
	from := flag.Int("from", 0, "first photo with a fault, to share the work out")
	seed := flag.Uint64("seed", 1, "seed")
	size := flag.Float64("mp", 0, "megapixels of the photos with two strips; 0 draws them from 2 to 12")
	show := flag.Bool("show", false, "print each photo's line")
	save := flag.String("save", "", "write the photo of this seed into the file and stop: kind,seed,megapixels as in hard,17,2")
	helped := flag.Int("assisted", 0, "instead: wounds of each painter between strips, along the edge that the program finds")
	flag.Parse()
	if *helped > 0 {
		printAssisted(*helped, *seed)
		return
	}
	if *save != "" {
		write(*save, flag.Arg(0))
		return
	}
	head()
	defer fmt.Println("\nErrors are of the area, against the truth; the outline itself is exact. se: median stated standard error.\n" +
		"in 68, in 95: share of photos whose error is within 1 and 1.96 stated standard errors. Painted is not real.\n" +
		"Where one strip was laid that slopes by at most 10 degrees the statement is made that only one was laid, level with\n" +
		"the wound. \"Apart\" are those that slope more, measured once more with that statement made wrongly.")
	megapixels := []float64{2, 3, 5, 8, 12}
	two := func(flat bool) {
		var all []trial
		by := map[float64][]trial{}
		skins := make([][]trial, len(scene.Skins))
		for i := range *n {
			mp := megapixels[[]int{0, 0, 0, 0, 1, 1, 1, 2, 2, 3, 0, 0, 1, 2, 4}[i%15]]
			if *size > 0 {
				mp = *size
			}
			t := must(scene.Ordinary(*seed*1_000_000+uint64(i), mp, 30, 2, flat))
			all, by[mp], skins[t.skin] = append(all, t), append(by[mp], t), append(skins[t.skin], t)
			if *show {
				fmt.Printf("%d %.0f MP skin %d tilt %.0f: %s %+.2f %% ± %.2f, misfit %.2f blur %.2f px/cm %.0f %v\n", i, mp, t.skin, t.tilt, t.refused, 100*t.off, 100*t.se, t.quality.MisfitPx, t.quality.BlurPx, t.quality.PxPerCm, t.parts)
			}
		}
		name := "two strips, with errors of paper"
		if flat {
			name = "two strips, exact and flat"
		}
		line(name, all)
		for _, mp := range megapixels {
			line(fmt.Sprintf("  %2.0f megapixels", mp), by[mp])
		}
		for i, s := range skins {
			line(fmt.Sprintf("  skin tone %d of %d", i+1, len(skins)), s)
		}
	}
	two(true)
	two(false)
	var singles []trial
	for i := range *one {
		singles = append(singles, must(scene.Ordinary(*seed*2_000_000+uint64(i), 2, 30, 1, false)))
	}
	line("one strip", singles)
	faults := map[string][]trial{}
	var hards, wrong []trial
	for i := *from; i < *from+*hard; i++ {
		d := scene.Hard(*seed*3_000_000+uint64(i), 2)
		if *only != "" && d.Fault != *only {
			continue
		}
		t := must(d)
		if len(d.Strips) == 1 && !d.OneLaid() {
			w := mustSaid(d, true)
			wrong = append(wrong, w)
			fmt.Printf("hard %d said level on a slope of %.0f degrees: %s %+.2f %% ± %.2f\n", i, d.Strips[0].SlopeDeg, w.refused, 100*w.off, 100*w.se)
		}
		faults[t.fault] = append(faults[t.fault], t)
		hards = append(hards, t)
		if *show || t.refused == "" && (t.off > .1 || t.off < -.1) {
			fmt.Printf("hard %d %s tilt %.0f: %s %+.2f %% ± %.2f, misfit %.2f blur %.2f px/cm %.0f %s\n", i, t.fault, t.tilt, t.refused, 100*t.off, 100*t.se, t.quality.MisfitPx, t.quality.BlurPx, t.quality.PxPerCm, t.scale)
		}
	}
	line("with a fault", hards)
	for _, f := range scene.Faults {
		line("  "+f, faults[f])
	}
	line("apart: one strip, wrongly said level", wrong)
	if len(hards) > 0 {
		tell(hards)
	}
}

func must(d scene.Drawn) trial {
	return mustSaid(d, d.OneLaid())
}

func mustSaid(d scene.Drawn, oneLaid bool) trial {
	t, err := measure(d, oneLaid)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	return t
}

func head() {
	fmt.Printf("%-34s %5s %7s %7s %7s %7s %7s %7s %7s %7s %7s\n", "photos", "n", "refused", "median", "p95", "most", "bias", "se", "in 68", "in 95", ">10 %")
}

func line(name string, all []trial) {
	if len(all) == 0 {
		return
	}
	s := sum(all)
	fmt.Printf("%-34s %5d %7d %6.2f%% %6.2f%% %6.2f%% %+6.2f%% %6.2f%% %7.2f %7.2f %7d\n", name, s.n, s.refused, s.median, s.p95, s.most, s.bias, s.se, s.in68, s.in95, s.false10)
}

func tell(all []trial) {
	reasons := map[string]int{}
	for _, t := range all {
		reasons[string(t.refused)]++
	}
	fmt.Println("\nrefusals of photos with a fault:")
	for _, r := range sorted(reasons) {
		name := r
		if r == "" {
			name = "measured"
		}
		fmt.Printf("  %-28s %5d\n", name, reasons[r])
	}
}
