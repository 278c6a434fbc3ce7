package web

import (
	"bytes"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"strconv"
	"sync"
)

// iconSizes are those that systems ask for, in pixels: a home screen's, an installer's, and a large one.
var iconSizes = []int{180, 192, 512}

// showManifest describes Lowtide to a device that installs it. It starts at Rounds.
func (s *Server) showManifest(r *Request) (Answer, error) {
	type icon struct {
		Src     string `json:"src"`
		Sizes   string `json:"sizes"`
		Type    string `json:"type"`
		Purpose string `json:"purpose"`
	}
	m := struct {
		ID         string `json:"id"`
		Name       string `json:"name"`
		ShortName  string `json:"short_name"`
		StartURL   string `json:"start_url"`
		Scope      string `json:"scope"`
		Display    string `json:"display"`
		Background string `json:"background_color"`
		Theme      string `json:"theme_color"`
		Icons      []icon `json:"icons"`
	}{"/", "Lowtide", "Lowtide", "/", "/", "standalone", "#f6f8f9", "#0b3344", nil}
	for _, size := range iconSizes {
		n := strconv.Itoa(size)
		m.Icons = append(m.Icons, icon{"/icon/" + n + ".png", n + "x" + n, "image/png", "any maskable"})
	}
	raw, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	r.header.Set("Cache-Control", "no-cache")
	return content{http.StatusOK, "application/manifest+json", "", raw}, nil
}

// showIcon draws the icon.
func (s *Server) showIcon(r *Request) (Answer, error) {
	for i, size := range iconSizes {
		if r.PathValue("size") == strconv.Itoa(size)+".png" {
			r.header.Set("Cache-Control", "public, max-age=86400")
			return content{http.StatusOK, "image/png", "", icons()[i]}, nil
		}
	}
	return nil, errMissing
}

// icons are the icon in each of the sizes, as PNG.
var icons = sync.OnceValue(func() (all [][]byte) {
	for _, size := range iconSizes {
		var b bytes.Buffer
		if err := png.Encode(&b, drawIcon(size)); err != nil {
			panic("web: " + err.Error()) // a buffer takes everything
		}
		all = append(all, b.Bytes())
	}
	return all
})

// bar is a rectangle of the icon in one colour, in 32nds of its side.
type bar struct {
	x0, y0, x1, y1 float64
	ink            color.RGBA
}

// iconBars are the waterline and, below it, suction as depth: what lowtide.svg draws, a little smaller, so that a system
// which cuts the corners off cuts nothing of it.
var iconBars = func() []bar {
	white, blue := color.RGBA{255, 255, 255, 255}, color.RGBA{0x9f, 0xd0, 0xe0, 255}
	list := []bar{{3, 10, 29, 12, white}}
	line := [][2]float64{{5, 12}, {5, 20}, {12, 20}, {12, 26}, {20, 26}, {20, 17}, {27, 17}, {27, 12}}
	const half = 1.25
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		r := bar{min(a[0], b[0]) - half, min(a[1], b[1]) - half, max(a[0], b[0]) + half, max(a[1], b[1]) + half, blue}
		if a[0] == b[0] && (a[1] == 12 || b[1] == 12) { // it hangs from the waterline, and does not cross it
			r.y0 = 12
		}
		list = append(list, r)
	}
	for i := range list {
		for _, v := range []*float64{&list[i].x0, &list[i].y0, &list[i].x1, &list[i].y1} {
			*v = 16 + (*v-16)*0.75
		}
	}
	return list
}()

// drawIcon draws the icon with smooth edges: a pixel that a bar covers in part takes as much of its colour.
func drawIcon(size int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, size, size))
	unit := float64(size) / 32
	covered := func(from, to float64, at int) float64 {
		return max(0, min(to*unit, float64(at+1))-max(from*unit, float64(at)))
	}
	for y := range size {
		for x := range size {
			c := [3]float64{0x0b, 0x33, 0x44}
			for _, b := range iconBars {
				part := covered(b.x0, b.x1, x) * covered(b.y0, b.y1, y)
				for i, v := range []uint8{b.ink.R, b.ink.G, b.ink.B} {
					c[i] += (float64(v) - c[i]) * part
				}
			}
			img.SetRGBA(x, y, color.RGBA{uint8(c[0] + 0.5), uint8(c[1] + 0.5), uint8(c[2] + 0.5), 255})
		}
	}
	return img
}
