package chart

import (
	"html"
	"math"
	"strings"
)

// A body is drawn from thick strokes: front, back, head, hands and feet. It says where a wound is as a finger would, and no
// more than that; the words beside it decide. The patient's right is at the reader's left, except on the back.

// BodyView is one of the figures of the drawing.
type BodyView string

// The views.
const (
	BodyFront BodyView = "front"
	BodyBack  BodyView = "back"
	BodyHead  BodyView = "head"
	BodyHands BodyView = "hands"
	BodyFeet  BodyView = "feet"
)

// BodySpot is a place that a wound can have, as in casebook.WoundFound. At is on the patient's right, or in the middle.
type BodySpot struct {
	Name string
	View BodyView
	// Middle tells that the place can lie on the middle line, Sides that it can lie on a side.
	Middle, Sides bool
	At            Point
}

// BodyMark is a wound on the drawing: its letter, its place and its side.
type BodyMark struct{ Letter, Spot, Side string }

// The size of the drawing, and the middle lines of its figures.
const (
	bodyWidthPx, bodyHeightPx = 340.0, 246.0
	frontX, backX, extraX     = 55.0, 165.0, 280.0
)

// build are the landmarks of a body: how far down they are, and half the widths of shoulders, hips and head.
type build struct{ head, chin, shoulder, waist, hip, knee, ankle, foot, shoulders, hips, skull float64 }

var (
	adult = build{head: 18, chin: 31, shoulder: 44, waist: 84, hip: 116, knee: 166, ankle: 212, foot: 221, shoulders: 23, hips: 17, skull: 12}
	// A small child's head is a quarter of its height, and its legs are short.
	child = build{head: 30, chin: 52, shoulder: 64, waist: 104, hip: 138, knee: 180, ankle: 213, foot: 221, shoulders: 20, hips: 17, skull: 22}
)

func buildOf(isChild bool) build {
	if isChild {
		return child
	}
	return adult
}

func (b build) elbow() Point             { return Point{b.shoulders + 10, b.shoulder + 0.55*(b.hip-b.shoulder)} }
func (b build) wrist() Point             { return Point{b.shoulders + 14, b.hip + 2} }
func (b build) leg(down float64) float64 { return 10 + 2*(down-b.hip)/(b.ankle-b.hip) }

// Spots lists the places on the drawing of an adult or a small child.
func Spots(isChild bool) []BodySpot {
	b := buildOf(isChild)
	mid := func(a, c float64) float64 { return (a + c) / 2 }
	e, w := b.elbow(), b.wrist()
	thigh, shin := mid(b.hip, b.knee), mid(b.knee, b.ankle)
	front := func(x, y float64) Point { return Point{frontX - x, y} }
	back := func(x, y float64) Point { return Point{backX + x, y} }
	return []BodySpot{
		{"face", BodyHead, true, true, Point{extraX - 6, 42}},
		{"scalp", BodyHead, true, true, Point{extraX - 9, 20}},
		{"ear", BodyHead, false, true, Point{extraX - 25, 38}},
		{"back of the head", BodyBack, true, false, back(0, b.head)},
		{"neck", BodyFront, true, true, front(4, b.chin+4)},
		{"shoulder", BodyFront, false, true, front(b.shoulders, b.shoulder+2)},
		{"chest", BodyFront, true, true, front(10, b.shoulder+0.35*(b.waist-b.shoulder))},
		{"belly", BodyFront, true, true, front(8, mid(b.waist, b.hip)-6)},
		{"groin", BodyFront, false, true, front(11, b.hip+2)},
		{"perineum", BodyFront, true, false, front(0, b.hip+8)},
		{"upper back", BodyBack, true, true, back(10, b.shoulder+0.4*(b.waist-b.shoulder))},
		{"lower back", BodyBack, true, true, back(9, b.waist+2)},
		{"sacrum", BodyBack, true, false, back(0, b.hip-12)},
		{"hip", BodyBack, false, true, back(b.hips+4, b.hip-4)},
		{"buttock", BodyBack, false, true, back(9, b.hip+1)},
		{"sitting bone", BodyBack, false, true, back(7, b.hip+12)},
		{"upper arm", BodyFront, false, true, front(mid(b.shoulders, e.X)+2, mid(b.shoulder, e.Y)+4)},
		{"elbow", BodyBack, false, true, back(e.X, e.Y)},
		{"forearm", BodyFront, false, true, front(mid(e.X, w.X), mid(e.Y, w.Y))},
		{"palm", BodyHands, false, true, Point{extraX - 27, 118}},
		{"back of the hand", BodyBack, false, true, back(w.X+1, w.Y+8)},
		{"finger", BodyHands, false, true, Point{extraX - 27, 92}},
		{"front of the thigh", BodyFront, false, true, front(b.leg(thigh), thigh)},
		{"back of the thigh", BodyBack, false, true, back(b.leg(thigh), thigh+4)},
		{"knee", BodyFront, false, true, front(b.leg(b.knee), b.knee)},
		{"hollow of the knee", BodyBack, false, true, back(b.leg(b.knee), b.knee)},
		{"shin", BodyFront, false, true, front(b.leg(shin), shin)},
		{"calf", BodyBack, false, true, back(b.leg(shin), shin-2)},
		{"ankle", BodyFront, false, true, front(b.leg(b.ankle), b.ankle-3)},
		{"heel", BodyBack, false, true, back(b.leg(b.foot), b.foot)},
		{"top of the foot", BodyFront, false, true, front(b.leg(b.foot)+2, b.foot+3)},
		{"sole", BodyFeet, false, true, Point{extraX - 27, 200}},
		{"toe", BodyFeet, false, true, Point{extraX - 27, 167}},
	}
}

// middleOf is the middle line of a view.
func middleOf(v BodyView) float64 {
	switch v {
	case BodyFront:
		return frontX
	case BodyBack:
		return backX
	}
	return extraX
}

// Side puts a place on a side of the patient; ok is false for a side that the place cannot have.
func (s BodySpot) Side(side string) (at Point, ok bool) {
	m := middleOf(s.View)
	switch side {
	case "right":
		return s.At, s.Sides
	case "left":
		return Point{2*m - s.At.X, s.At.Y}, s.Sides
	}
	if side != "middle" && side != "" {
		return Point{}, false
	}
	return Point{m, s.At.Y}, s.Middle
}

// BodySheet is the file with the figures of an adult and of a small child, in the colour of the page that uses them.
func BodySheet() string {
	w := &svg{}
	w.put(`<svg xmlns="http://www.w3.org/2000/svg">`)
	for _, isChild := range []bool{false, true} {
		w.put(`<symbol id="`, bodyID(isChild), `" viewBox="0 0 `, num(bodyWidthPx), ` `, num(bodyHeightPx), `"><g fill="none" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round">`)
		for _, x := range []float64{frontX, backX} {
			w.figure(buildOf(isChild), x)
		}
		w.extras(isChild)
		w.put(`</g></symbol>`)
	}
	w.put("</svg>\n")
	return w.b.String()
}

func bodyID(isChild bool) string {
	if isChild {
		return "child"
	}
	return "adult"
}

// Body draws the figures of the sheet at the address with the wounds on them. each is called for every place and side, and
// what it returns is written into the drawing, for a form that wants to know where a finger came down; nil is none.
func Body(sheet string, isChild bool, marks []BodyMark, aloud string, each func(s BodySpot, side string, at Point) string) string {
	w := &svg{}
	w.put(`<svg class="body" role="img" viewBox="0 0 `, num(bodyWidthPx), ` `, num(bodyHeightPx), `" width="`, num(bodyWidthPx), `" height="`, num(bodyHeightPx), `" aria-label="`, html.EscapeString(aloud), `"><use href="`, html.EscapeString(sheet), `#`, bodyID(isChild), `" width="`, num(bodyWidthPx), `" height="`, num(bodyHeightPx), `"/><g fill="`, string(InkText), `" font-size="9" text-anchor="middle">`)
	for _, t := range []struct {
		words string
		x, y  float64
	}{{"front", frontX, 244}, {"back", backX, 244}, {"right", frontX - 33, 14}, {"left", frontX + 33, 14}, {"left", backX - 33, 14}, {"right", backX + 33, 14}, {"right", extraX - 38, 14}, {"left", extraX + 38, 14}, {"palms", extraX, 146}, {"soles", extraX, 235}} {
		w.put(`<text x="`, num(t.x), `" y="`, num(t.y), `">`, t.words, `</text>`)
	}
	w.put(`</g>`)
	spots := Spots(isChild)
	if each != nil {
		for _, s := range spots {
			for _, side := range []string{"right", "middle", "left"} {
				if at, ok := s.Side(side); ok {
					w.put(each(s, side, at))
				}
			}
		}
	}
	w.put(`<g class="marks" font-size="11" font-weight="700" text-anchor="middle">`)
	for i, m := range marks {
		for _, s := range spots {
			if at, ok := s.Side(m.Side); s.Name == m.Spot && ok {
				at.X += 14 * float64(sharing(marks[:i], m)) // wounds of one place stand side by side
				w.put(`<circle cx="`, num(at.X), `" cy="`, num(at.Y), `" r="8" fill="`, string(InkDeep), `" stroke="`, string(InkPaper), `" stroke-width="1.5"/><text x="`, num(at.X), `" y="`, num(at.Y+4), `" fill="`, string(InkPaper), `">`, clean(m.Letter), `</text>`)
			}
		}
	}
	w.put(`</g></svg>`)
	return w.b.String()
}

func sharing(before []BodyMark, m BodyMark) (n int) {
	for _, x := range before {
		if x.Spot == m.Spot && x.Side == m.Side {
			n++
		}
	}
	return n
}

// figure draws a whole body around a middle line.
func (w *svg) figure(b build, x float64) {
	stroke := func(width float64, points ...Point) {
		for _, sign := range []float64{-1, 1} {
			w.put(`<path stroke-width="`, num(width), `" d="`)
			for i, p := range points {
				w.put(string("ML"[min(i, 1)]), num(x+sign*p.X), " ", num(p.Y))
			}
			w.put(`"/>`)
		}
	}
	w.put(`<ellipse fill="currentColor" cx="`, num(x), `" cy="`, num(b.head), `" rx="`, num(b.skull*0.85), `" ry="`, num(b.skull), `"/>`)
	w.put(`<path stroke-width="9" d="M`, num(x), ` `, num(b.chin-3), `V`, num(b.shoulder), `"/>`)
	w.put(`<path fill="currentColor" stroke-width="8" d="M`, num(x-b.shoulders+3), ` `, num(b.shoulder), `H`, num(x+b.shoulders-3), `L`, num(x+b.hips-4), ` `, num(b.waist), `L`, num(x+b.hips-1), ` `, num(b.hip), `H`, num(x-b.hips+1), `L`, num(x-b.hips+4), ` `, num(b.waist), `Z"/>`)
	stroke(9, Point{b.shoulders, b.shoulder + 2}, b.elbow(), b.wrist())
	stroke(10, b.wrist(), Point{b.wrist().X + 1, b.wrist().Y + 9})
	stroke(15, Point{b.leg(b.hip), b.hip}, Point{b.leg(b.knee), b.knee})
	stroke(12, Point{b.leg(b.knee), b.knee}, Point{b.leg(b.ankle), b.ankle})
	stroke(10, Point{b.leg(b.ankle), b.ankle + 3}, Point{b.leg(b.foot) + 3, b.foot + 3})
}

// extras draws head, palms and soles larger.
func (w *svg) extras(isChild bool) {
	skull := 27.0
	if isChild {
		skull = 29
	}
	w.put(`<ellipse fill="currentColor" cx="`, num(extraX), `" cy="34" rx="22" ry="`, num(skull), `"/>`)
	for _, sign := range []float64{-1, 1} {
		at := func(dx float64) string { return num(extraX + sign*dx) }
		w.put(`<path stroke-width="6" d="M`, at(24), ` 33V42"/>`)
		w.put(`<rect fill="currentColor" x="`, num(extraX+sign*27-11), `" y="105" width="22" height="28" rx="8"/><path stroke-width="5" d="`)
		for i, top := range []float64{90, 84, 82, 86} {
			dx := 27 - sign*9 + sign*6*float64(i)
			if sign < 0 {
				dx = 27 + 9 - 6*float64(i)
			}
			w.put(`M`, at(dx), ` 108V`, num(top))
		}
		w.put(`M`, at(17), ` 122L`, at(10), ` 108"/>`)
		w.put(`<path stroke-width="17" d="M`, at(28), ` 182L`, at(26), ` 218"/><path stroke-width="6" d="`)
		for i := range 5 {
			down := 170 + math.Abs(float64(i))*1.6
			w.put(`M`, at(20+4.6*float64(i)), ` `, num(down), `v1`)
		}
		w.put(`"/>`)
	}
}

// BodyAloud lists the wounds of a drawing in words.
func BodyAloud(marks []BodyMark) string {
	if len(marks) == 0 {
		return "Body map without a wound"
	}
	var list []string
	for _, m := range marks {
		side := m.Side + " "
		if m.Side == "middle" || m.Side == "" {
			side = ""
		}
		list = append(list, "wound "+m.Letter+", "+side+m.Spot)
	}
	return "Body map: " + strings.Join(list, "; ")
}

// OnBody tells whether the drawing has the place on the side.
func OnBody(spot, side string) bool {
	for _, s := range Spots(false) {
		if s.Name == spot {
			_, ok := s.Side(side)
			return ok
		}
	}
	return false
}

// SpotMark is a place on the drawing of a form, with its words for the script.
func SpotMark(spot, side string, at Point) string {
	return `<circle class="spot" data-spot="` + spot + `" data-side="` + side + `" cx="` + num(at.X) + `" cy="` + num(at.Y) + `" r="3"/>`
}
