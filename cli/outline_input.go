package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"lowtide/outline"
)

// Limits of the outline's inputs: a finger draws a few hundred points, and nobody clicks a thousand marks.
const (
	mostLoopPoints = 20000
	mostMarks      = 1000
	leastMarks     = 4
	leastLoop      = 3
)

// decodeAny reads exactly one JSON value.
func decodeAny(raw []byte, want string) (any, []problem) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var doc any
	if err := dec.Decode(&doc); err != nil {
		return nil, []problem{{"/", "not JSON (" + err.Error() + ")", want}}
	}
	if dec.More() {
		return nil, []problem{{"/", "more than one JSON value", want}}
	}
	return doc, nil
}

// parsePoint reads [x, y].
func parsePoint(v any, at, what string) (outline.Point, []problem) {
	xy, ok := v.([]any)
	if !ok || len(xy) != 2 {
		return outline.Point{}, []problem{{at, show(v), "write " + what + " as two numbers, [x, y]"}}
	}
	var out [2]float64
	var bad []problem
	for i, c := range xy {
		n, ok := c.(json.Number)
		f, err := strconv.ParseFloat(string(n), 64)
		if !ok || err != nil || math.Abs(f) > 1e6 {
			bad = append(bad, problem{fmt.Sprintf("%s/%d", at, i), show(c), "write a number between -1000000 and 1000000"})
		}
		out[i] = f
	}
	return outline.Point{X: out[0], Y: out[1]}, bad
}

// parseLoop reads [[x, y], …], pixels of the upright photo. A repeated first point at the end is dropped.
func parseLoop(raw []byte) ([]outline.Point, []problem) {
	const want = "give a list of points, [[x, y], ...], in pixels from the top left of the upright photo"
	doc, bad := decodeAny(raw, want)
	if bad != nil {
		return nil, bad
	}
	list, ok := doc.([]any)
	if !ok {
		return nil, []problem{{"/", show(doc), want}}
	}
	if len(list) > mostLoopPoints {
		return nil, []problem{{"/", fmt.Sprintf("%d points", len(list)), fmt.Sprintf("give at most %d", mostLoopPoints)}}
	}
	var loop []outline.Point
	for i, v := range list {
		p, b := parsePoint(v, fmt.Sprintf("/%d", i), "a point")
		bad = append(bad, b...)
		loop = append(loop, p)
	}
	if n := len(loop); n > 1 && loop[0] == loop[n-1] {
		loop = loop[:n-1]
	}
	if len(loop) < leastLoop && bad == nil {
		bad = append(bad, problem{"/", fmt.Sprintf("%d points", len(loop)), "give at least three"})
	}
	return loop, bad
}

// parseMarks reads [{"px": [x, y], "cm": [x, y]}, …].
func parseMarks(raw []byte) ([]outline.Mark, []problem) {
	const want = `give a list of marks, [{"px": [x, y], "cm": [x, y]}, ...]`
	doc, bad := decodeAny(raw, want)
	if bad != nil {
		return nil, bad
	}
	list, ok := doc.([]any)
	if !ok {
		return nil, []problem{{"/", show(doc), want}}
	}
	if len(list) < leastMarks || len(list) > mostMarks {
		return nil, []problem{{"/", fmt.Sprintf("%d marks", len(list)), fmt.Sprintf("give %d to %d, not all on one line", leastMarks, mostMarks)}}
	}
	var marks []outline.Mark
	for i, v := range list {
		at := fmt.Sprintf("/%d", i)
		o, ok := v.(map[string]any)
		if !ok {
			bad = append(bad, problem{at, show(v), `write {"px": [x, y], "cm": [x, y]}`})
			continue
		}
		px, b := parsePoint(o["px"], at+"/px", "the place in the photo")
		bad = append(bad, b...)
		cm, b := parsePoint(o["cm"], at+"/cm", "the place in centimetres")
		bad = append(bad, b...)
		marks = append(marks, outline.Mark{Px: px, Cm: cm})
	}
	return marks, bad
}
