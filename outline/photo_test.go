package outline

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"
)

// flag is a small picture whose corners differ: red, green, blue, white from the top left clockwise.
func flag(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{200, 0, 0, 255}
			switch {
			case x >= w/2 && y < h/2:
				c = color.RGBA{0, 200, 0, 255}
			case x >= w/2:
				c = color.RGBA{0, 0, 200, 255}
			case y >= h/2:
				c = color.RGBA{230, 230, 230, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	return img
}

func asJPEG(img image.Image) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func asPNG(img image.Image) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// exif writes notes with an orientation, a focal length, and a place that must not be kept.
func exif(orientation uint16) []byte {
	var t bytes.Buffer
	w := func(v ...any) {
		for _, x := range v {
			_ = binary.Write(&t, binary.BigEndian, x)
		}
	}
	t.WriteString("MM\x00*")
	w(uint32(8), uint16(3))
	w(uint16(0x0112), uint16(3), uint32(1), orientation, uint16(0))
	w(uint16(0x8769), uint16(4), uint32(1), uint32(50))
	w(uint16(0x8825), uint16(4), uint32(1), uint32(70))
	w(uint32(0))
	w(uint16(1), uint16(0xa405), uint16(3), uint32(1), uint16(26), uint16(0), uint32(0))
	t.WriteString("GPSPLACE-51.5N")
	return t.Bytes()
}

// withNotes puts segments after the start of a JPEG and a second picture after its end.
func withNotes(raw []byte, orientation uint16) []byte {
	segment := func(marker byte, body []byte) []byte {
		return append([]byte{0xff, marker, byte((len(body) + 2) >> 8), byte(len(body) + 2)}, body...)
	}
	out := append([]byte{}, raw[:2]...)
	out = append(out, segment(0xe1, append([]byte("Exif\x00\x00"), exif(orientation)...))...)
	out = append(out, segment(0xe1, []byte("http://ns.adobe.com/xap/1.0/\x00OWNERNAME"))...)
	out = append(out, segment(0xfe, []byte("COMMENTPLACE"))...)
	out = append(out, raw[2:]...)
	return append(append(out, []byte("GPSPLACE in a film behind the picture")...), raw...)
}

// TestPhotoUpright: all eight ways that a camera may store a picture come out upright, in what is measured and in
// what is stored; place, owner and comment are gone.
func TestPhotoUpright(t *testing.T) {
	want := flag(96, 64)
	for o := uint16(1); o <= 8; o++ {
		// The stored picture from which the upright one comes: stored(turned(p)) = upright(p).
		w, h := 96, 64
		if o >= 5 {
			w, h = 64, 96
		}
		stored := image.NewRGBA(image.Rect(0, 0, w, h))
		for y := range 64 {
			for x := range 96 {
				sx, sy := turned(int(o), x, y, w, h)
				stored.Set(sx, sy, want.At(x, y))
			}
		}
		pngRaw := asPNG(stored)
		chunk := exif(o)
		var withChunk bytes.Buffer
		withChunk.Write(pngRaw[:33])
		_ = binary.Write(&withChunk, binary.BigEndian, uint32(len(chunk)))
		body := append([]byte("eXIf"), chunk...)
		withChunk.Write(body)
		_ = binary.Write(&withChunk, binary.BigEndian, crc32.ChecksumIEEE(body))
		withChunk.Write(pngRaw[33:])
		for format, raw := range map[string][]byte{"jpeg": withNotes(asJPEG(stored), o), "png": withChunk.Bytes()} {
			p, err := ReadPhoto(raw)
			if err != nil {
				t.Fatalf("%s %d: %v", format, o, err)
			}
			keep, err := p.Stored()
			if err != nil {
				t.Fatal(err)
			}
			for _, secret := range []string{"GPSPLACE", "OWNERNAME", "COMMENTPLACE", "Exif"} {
				if bytes.Contains(keep, []byte(secret)) {
					t.Errorf("%s %d: the stored photo still holds %s", format, o, secret)
				}
			}
			again, err := ReadPhoto(keep)
			if err != nil {
				t.Fatalf("%s %d: the stored photo cannot be read: %v", format, o, err)
			}
			for name, q := range map[string]*Photo{"read": p, "stored": again} {
				if q.WidthPx != 96 || q.HeightPx != 64 || q.Format != format {
					t.Fatalf("%s %d %s: %d × %d %s", format, o, name, q.WidthPx, q.HeightPx, q.Format)
				}
				for _, at := range []image.Point{{10, 10}, {80, 10}, {80, 50}, {10, 50}} {
					r, g, b, _ := q.Image.At(at.X, at.Y).RGBA()
					wr, wg, wb, _ := want.At(at.X, at.Y).RGBA()
					for _, d := range []int{int(r>>8) - int(wr>>8), int(g>>8) - int(wg>>8), int(b>>8) - int(wb>>8)} {
						if d > 12 || d < -12 {
							t.Fatalf("%s, orientation %d, %s: colour at %v is off by %d", format, o, name, at, d)
						}
					}
				}
			}
			if p.FocalPx < 68 || p.FocalPx > 71 { // 26/43.27 of the diagonal, 115.4 px: 69.3
				t.Errorf("%s %d: focal length %g px", format, o, p.FocalPx)
			}
		}
	}
}

// pngHeader is a PNG whose header claims a size.
func pngHeader(w, h uint32, depth, kind byte) []byte {
	body := append([]byte("IHDR"), make([]byte, 13)...)
	binary.BigEndian.PutUint32(body[4:], w)
	binary.BigEndian.PutUint32(body[8:], h)
	body[12], body[13] = depth, kind
	out := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), body...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(body))
	end := []byte("IEND")
	out = append(out, 0, 0, 0, 0)
	return binary.BigEndian.AppendUint32(append(out, end...), crc32.ChecksumIEEE(end))
}

// TestPhotoRefuses: what is no photo, or no photo that can be afforded, is refused by reason, with a remedy, and
// before anything of its size is allocated.
func TestPhotoRefuses(t *testing.T) {
	good := asJPEG(flag(200, 100))
	wide := append([]byte{}, good...)
	for i := range wide { // the frame header: FF C0, length, precision, height, width
		if wide[i] == 0xff && wide[i+1] == 0xc0 {
			binary.BigEndian.PutUint16(wide[i+5:], 60000)
			binary.BigEndian.PutUint16(wide[i+7:], 60000)
			break
		}
	}
	passes := append([]byte{}, good...)
	for i := range passes { // 5700 × 4300 in passes, three full components
		if passes[i] == 0xff && passes[i+1] == 0xc0 {
			passes[i+1] = 0xc2
			binary.BigEndian.PutUint16(passes[i+5:], 4300)
			binary.BigEndian.PutUint16(passes[i+7:], 5700)
			passes[i+11] = 0x11
			break
		}
	}
	many := append([]byte{}, good[:len(good)-2]...)
	for range 80 {
		many = append(many, 0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 1, 2, 3)
	}
	many = append(many, 0xff, 0xd9)
	for name, c := range map[string]struct {
		raw  []byte
		want Reason
	}{
		"empty":            {nil, NotAnImage},
		"text":             {[]byte("this is a letter and not a photo"), NotAnImage},
		"random":           {bytes.Repeat([]byte{0x8a, 0x13, 0x77, 0x02, 0xfe}, 999), NotAnImage},
		"gif":              {[]byte("GIF89a\x01\x00\x01\x00\x80\x00\x00"), NotAnImage},
		"heic":             {append([]byte{0, 0, 0, 24}, "ftypheic\x00\x00\x00\x00mif1heic"...), WrongFormat},
		"1 x 1":            {asPNG(flag(1, 1)), TooTiny},
		"1 x 1 jpeg":       {asJPEG(flag(1, 1)), TooTiny},
		"cut jpeg":         {good[:len(good)/2], Damaged},
		"cut png":          {asPNG(flag(200, 100))[:300], Damaged},
		"only a start":     {[]byte{0xff, 0xd8, 0xff}, Damaged},
		"60000 px jpeg":    {wide, TooLarge},
		"in passes":        {passes, TooLarge},
		"60000 px png":     {pngHeader(60000, 60000, 8, 2), TooLarge},
		"thread png":       {pngHeader(20000, 100, 8, 2), TooLarge},
		"deep png":         {pngHeader(5000, 4000, 16, 6), TooLarge},
		"png without data": {pngHeader(200, 200, 8, 2), Damaged},
		"many passes":      {many, TooLarge},
		"40 MB and a bit":  {append([]byte{0xff, 0xd8, 0xff}, make([]byte, MostPhotoBytes)...), TooLarge},
	} {
		_, got := ReadPhoto(c.raw)
		var r *Refusal
		if !errors.As(got, &r) || r.Reason != c.want || r.Remedy == "" || r.Words == "" {
			t.Errorf("%s: %v, want %q", name, got, c.want)
		}
	}
}

// TestPhotoHeaderCostsNothing: a header that claims 60,000 × 60,000 pixels makes nothing of that size.
func TestPhotoHeaderCostsNothing(t *testing.T) {
	raw := pngHeader(60000, 60000, 8, 2)
	r := testing.Benchmark(func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			_, _ = ReadPhoto(raw)
		}
	})
	if r.AllocedBytesPerOp() > 1<<16 {
		t.Errorf("%d bytes for a header", r.AllocedBytesPerOp())
	}
}

// FuzzReadPhoto: whatever comes, there is a photo within the limits or a refusal, never a panic; what is stored can
// be read again and has the same size.
// Slow: a photo is decoded, turned, written anew and read again.
func FuzzReadPhoto(f *testing.F) {
	f.Add(withNotes(asJPEG(flag(80, 70)), 6))
	f.Add(asPNG(flag(80, 70)))
	f.Add(pngHeader(60000, 60000, 8, 2))
	f.Add(append([]byte{0, 0, 0, 24}, "ftypheic"...))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if w, h := claimed(raw); w*h > 1_000_000 {
			t.Skip("allowed but slow")
		}
		p, err := ReadPhoto(raw)
		if err != nil {
			var r *Refusal
			if !errors.As(err, &r) || r.Remedy == "" {
				t.Fatalf("%v is no refusal", err)
			}
			return
		}
		if p.WidthPx < leastSide || p.HeightPx < leastSide || p.WidthPx*p.HeightPx > mostPixels {
			t.Fatalf("%d × %d", p.WidthPx, p.HeightPx)
		}
		_, _, _ = FindStrips(p.Image, FindOptions{})
		keep, err := p.Stored()
		if err != nil {
			t.Fatal(err)
		}
		q, err := ReadPhoto(keep)
		if err != nil || q.WidthPx != p.WidthPx || q.HeightPx != p.HeightPx {
			t.Fatalf("stored: %v", err)
		}
	})
}

// claimed is the size in a header, 0 when there is none.
func claimed(raw []byte) (int, int) {
	c, _, err := image.DecodeConfig(bytes.NewReader(raw))
	if err != nil {
		return 0, 0
	}
	return c.Width, c.Height
}
