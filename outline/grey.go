package outline

import (
	"image"
)

// grey is a picture's brightness, one byte a pixel.
type grey struct {
	w, h, stride int
	pix          []uint8
}

// greyOf takes the brightness of a picture; a YCbCr picture lends its own plane without a copy.
func greyOf(img image.Image) grey {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	switch img := img.(type) {
	case *image.YCbCr:
		return grey{w, h, img.YStride, img.Y[img.YOffset(b.Min.X, b.Min.Y):]}
	case *image.Gray:
		return grey{w, h, img.Stride, img.Pix[img.PixOffset(b.Min.X, b.Min.Y):]}
	}
	g := grey{w, h, w, make([]uint8, w*h)}
	for y := range h {
		for x := range w {
			switch img := img.(type) {
			case *image.RGBA: // the two kinds that decoders give, without an allocation for each pixel
				g.pix[y*w+x] = luma(img.Pix[img.PixOffset(b.Min.X+x, b.Min.Y+y):])
			case *image.NRGBA:
				g.pix[y*w+x] = luma(img.Pix[img.PixOffset(b.Min.X+x, b.Min.Y+y):])
			case image.RGBA64Image: // every other kind of the standard library
				c := img.RGBA64At(b.Min.X+x, b.Min.Y+y)
				g.pix[y*w+x] = luma([]uint8{uint8(c.R >> 8), uint8(c.G >> 8), uint8(c.B >> 8)})
			default:
				r, gr, bl, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
				g.pix[y*w+x] = luma([]uint8{uint8(r >> 8), uint8(gr >> 8), uint8(bl >> 8)})
			}
		}
	}
	return g
}

func luma(rgb []uint8) uint8 {
	return uint8((299*int(rgb[0]) + 587*int(rgb[1]) + 114*int(rgb[2]) + 500) / 1000)
}

// at is the brightness at a place, between pixel centres by straight lines; places outside take the nearest pixel.
func (g *grey) at(x, y float64) float64 {
	x -= 0.5
	y -= 0.5
	x = min(max(x, 0), float64(g.w-1))
	y = min(max(y, 0), float64(g.h-1))
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	i1, j1 := min(i+1, g.w-1), min(j+1, g.h-1)
	a, b := g.pix[j*g.stride:], g.pix[j1*g.stride:]
	return (1-fy)*((1-fx)*float64(a[i])+fx*float64(a[i1])) + fy*((1-fx)*float64(b[i])+fx*float64(b[i1]))
}

// halved averages two by two pixels.
func (g *grey) halved() grey {
	out := grey{g.w / 2, g.h / 2, g.w / 2, make([]uint8, (g.w/2)*(g.h/2))}
	for y := range out.h {
		a, b := g.pix[2*y*g.stride:], g.pix[(2*y+1)*g.stride:]
		row := out.pix[y*out.stride:][:out.w]
		for x := range row {
			row[x] = uint8((int(a[2*x]) + int(a[2*x+1]) + int(b[2*x]) + int(b[2*x+1]) + 2) / 4)
		}
	}
	return out
}

// dark marks the pixels that are darker than their surroundings: below share of the mean over a square window.
func (g *grey) dark(window int, share float64) []bool {
	sum := make([]uint32, (g.w+1)*(g.h+1))
	for y := range g.h {
		var row uint32
		for x := range g.w {
			row += uint32(g.pix[y*g.stride+x])
			sum[(y+1)*(g.w+1)+x+1] = sum[y*(g.w+1)+x+1] + row
		}
	}
	out := make([]bool, g.w*g.h)
	for y := range g.h {
		y0, y1 := max(0, y-window), min(g.h, y+window+1)
		for x := range g.w {
			x0, x1 := max(0, x-window), min(g.w, x+window+1)
			s := sum[y1*(g.w+1)+x1] - sum[y0*(g.w+1)+x1] - sum[y1*(g.w+1)+x0] + sum[y0*(g.w+1)+x0]
			n := float64((y1 - y0) * (x1 - x0))
			out[y*g.w+x] = float64(g.pix[y*g.stride+x])*n < share*float64(s)
		}
	}
	return out
}
