package main

import (
	"encoding/json"
	"fmt"
	"image"
	"io"
	"math"
	"os"
	"runtime"
	"syscall"
	"time"

	"lowtide/outline"
	"lowtide/outline/painted"
)

// timePhoto enlarges painted wounds to 4000 x 3000 pixels and prints the processor time of their refinement, all
// threads together, and what it allocated.
func timePhoto(w io.Writer) {
	var worst, sum time.Duration
	var before, after runtime.MemStats
	const n = 10
	for seed := uint64(1); seed <= n; seed++ {
		s := painted.Hard(seed, 500)
		big, loop := enlarge(s, 8, 4000, 3000)
		runtime.ReadMemStats(&before)
		start := used()
		if _, err := outline.Refine(big, loop); err != nil {
			fmt.Fprintln(w, err)
		}
		took := used() - start
		runtime.ReadMemStats(&after)
		sum += took
		worst = max(worst, took)
		fmt.Fprintf(w, "wound of %.1f %% of the frame: %v, %.0f MB\n", 100*s.Share, took.Round(time.Millisecond), float64(after.TotalAlloc-before.TotalAlloc)/1e6)
	}
	fmt.Fprintf(w, "processor time: mean %v, longest %v of %d\n", (sum / n).Round(time.Millisecond), worst.Round(time.Millisecond), n)
}

// used is the processor time of this process so far: what else the machine does must not count.
func used() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic("edges: " + err.Error()) // no argument of it can be wrong
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// enlarge repeats every pixel and cuts the picture to size; times and memory do not depend on looks.
func enlarge(s painted.Scene, by, width, height int) (image.Image, []outline.Point) {
	big := image.NewYCbCr(image.Rect(0, 0, width, height), image.YCbCrSubsampleRatio420)
	small, ok := s.Image.(*image.YCbCr)
	if !ok {
		panic("edges: painted pictures are JPEG")
	}
	for y := range height {
		for x := range width {
			sx, sy := min(x/by, s.Width-1), min(y/by, s.Height-1)
			big.Y[big.YOffset(x, y)] = small.Y[small.YOffset(sx, sy)]
			if x%2 == 0 && y%2 == 0 {
				big.Cb[big.COffset(x, y)], big.Cr[big.COffset(x, y)] = small.Cb[small.COffset(sx, sy)], small.Cr[small.COffset(sx, sy)]
			}
		}
	}
	loop := make([]outline.Point, len(s.Loop))
	for i, p := range s.Loop {
		loop[i] = outline.Point{X: p.X * float64(by), Y: math.Min(p.Y*float64(by), float64(height))}
	}
	return big, loop
}

// dumped is one scene for the independent tools: rings in pixels, masks as runs (start, length) over the rows.
type dumped struct {
	Side    int               `json:"side"`
	Outer   []outline.Point   `json:"outer"`
	Holes   [][]outline.Point `json:"holes"`
	Loop    []outline.Point   `json:"loop"`
	Mask    [][2]int          `json:"mask_runs"`
	Dice    float64           `json:"dice"`
	LoopOwn float64           `json:"loop_dice"`
}

func writeDump(path string) error {
	const side = 256
	var all []dumped
	for _, p := range painters(false) {
		for seed := uint64(901); seed < 909; seed++ {
			s := p.paint(seed, side)
			t, err := outline.Refine(s.Image, points(s.Loop))
			if err != nil {
				return err
			}
			d := dumped{Side: side, Outer: t.Outer, Holes: t.Holes, Loop: points(s.Loop),
				Dice: painted.Dice(fill(t, side), s.Mask), LoopOwn: painted.Dice(painted.Fill(s.Loop, side, side), s.Mask)}
			for i := 0; i < len(s.Mask); i++ {
				if s.Mask[i] {
					j := i
					for j < len(s.Mask) && s.Mask[j] {
						j++
					}
					d.Mask = append(d.Mask, [2]int{i, j - i})
					i = j
				}
			}
			all = append(all, d)
		}
	}
	raw, err := json.Marshal(all)
	if err != nil {
		return err
	}
	return os.WriteFile(path, raw, 0o644)
}
