package outline

import (
	"image"
	"image/draw"
)

// turned says where pixel (x, y) of the upright picture lies in the stored one of w × h, by the eight ways that
// EXIF counts (Orientation, tag 0x0112: 1 is upright, 3 upside down, 6 and 8 a quarter turn, the others mirrored).
func turned(orientation, x, y, w, h int) (int, int) {
	switch orientation {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}

// upright turns a picture. A YCbCr picture stays one: its planes are turned one by one, without a copy in RGB.
func upright(img image.Image, orientation int) image.Image {
	if orientation <= 1 || orientation > 8 {
		return img
	}
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	uw, uh := w, h
	if orientation >= 5 {
		uw, uh = h, w
	}
	switch img := img.(type) {
	case *image.YCbCr:
		ratio, ok := turnedRatio(img.SubsampleRatio, orientation)
		if !ok {
			break
		}
		out := image.NewYCbCr(image.Rect(0, 0, uw, uh), ratio)
		turnPlane(out.Y, out.YStride, uw, uh, img.Y, img.YStride, w, h, orientation)
		cw, ch := chroma(img.SubsampleRatio, w, h)
		ucw, uch := chroma(ratio, uw, uh)
		turnPlane(out.Cb, out.CStride, ucw, uch, img.Cb, img.CStride, cw, ch, orientation)
		turnPlane(out.Cr, out.CStride, ucw, uch, img.Cr, img.CStride, cw, ch, orientation)
		return out
	case *image.Gray:
		out := image.NewGray(image.Rect(0, 0, uw, uh))
		turnPlane(out.Pix, out.Stride, uw, uh, img.Pix, img.Stride, w, h, orientation)
		return out
	}
	flat := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(flat, flat.Bounds(), img, b.Min, draw.Src)
	out := image.NewRGBA(image.Rect(0, 0, uw, uh))
	for y := range uh {
		for x := range uw {
			sx, sy := turned(orientation, x, y, w, h)
			copy(out.Pix[out.PixOffset(x, y):][:4], flat.Pix[flat.PixOffset(sx, sy):][:4])
		}
	}
	return out
}

func turnPlane(dst []byte, dstStride, uw, uh int, src []byte, srcStride, w, h, orientation int) {
	for y := range uh {
		// A row of the upright picture is a straight walk through the stored one.
		x0, y0 := turned(orientation, 0, y, w, h)
		x1, y1 := turned(orientation, 1, y, w, h)
		at, step := y0*srcStride+x0, (y1-y0)*srcStride+(x1-x0)
		row := dst[y*dstStride:][:uw]
		for x := range row {
			row[x] = src[at]
			at += step
		}
	}
}

func turnedRatio(r image.YCbCrSubsampleRatio, orientation int) (image.YCbCrSubsampleRatio, bool) {
	switch r {
	case image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio420:
		return r, true
	case image.YCbCrSubsampleRatio422:
		if orientation >= 5 {
			return image.YCbCrSubsampleRatio440, true
		}
		return r, true
	case image.YCbCrSubsampleRatio440:
		if orientation >= 5 {
			return image.YCbCrSubsampleRatio422, true
		}
		return r, true
	}
	return r, false
}

func chroma(r image.YCbCrSubsampleRatio, w, h int) (int, int) {
	switch r {
	case image.YCbCrSubsampleRatio422:
		return (w + 1) / 2, h
	case image.YCbCrSubsampleRatio440:
		return w, (h + 1) / 2
	case image.YCbCrSubsampleRatio420:
		return (w + 1) / 2, (h + 1) / 2
	}
	return w, h
}
