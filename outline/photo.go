package outline

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
)

// Limits of a photo. They are checked on the header, before anything of the photo's size is allocated.
const (
	// MostPhotoBytes bounds the file.
	MostPhotoBytes = 40 << 20
	// mostPixels holds the photos that phones save (12 and 24 megapixels) and keeps memory bounded.
	mostPixels = 26_000_000
	// mostSide stops headers that claim a thread of pixels.
	mostSide = 16_384
	// leastSide is far below any photo in which a wound can be seen.
	leastSide = 64
	// mostDecoded bounds the memory of decoding: a JPEG in passes takes five times a plain one's.
	mostDecoded = 200 << 20
	// mostScans bounds a progressive JPEG: each scan walks the whole picture, and a photo has about ten.
	mostScans = 64
)

// Photo is a photo as it is looked at: upright, without the place and the person that its file told of.
type Photo struct {
	// Image is upright.
	Image             image.Image
	WidthPx, HeightPx int
	// Format is "jpeg" or "png".
	Format string
	// FocalPx is the focal length by the camera's own note, in pixels; 0 when it wrote none.
	FocalPx float64

	clean   []byte // the file without notes; nil when the picture had to be turned
	turning int
}

const otherPhoto = "Take the photo again, or let the phone hand it over as JPEG."

// ReadPhoto reads a JPEG or PNG photo and turns it upright. Every refusal is a *Refusal. HEIC is not read: there is
// no kept reader in pure Go.
func ReadPhoto(raw []byte) (*Photo, error) {
	if len(raw) > MostPhotoBytes {
		return nil, refuse(TooLarge, "Let the phone save a smaller photo; 12 megapixels are plenty.", "The file has %d MB; at most %d are read.", len(raw)>>20, MostPhotoBytes>>20)
	}
	switch {
	case len(raw) >= 3 && raw[0] == 0xff && raw[1] == 0xd8 && raw[2] == 0xff:
		return readJPEG(raw)
	case bytes.HasPrefix(raw, []byte("\x89PNG\r\n\x1a\n")):
		return readPNG(raw)
	case len(raw) >= 12 && string(raw[4:8]) == "ftyp":
		return nil, refuse(WrongFormat, "Set the phone's camera to save JPEG, or send the photo through a program that makes a JPEG of it.", "This photo is in a format of phones (HEIC or its like) that is not read here.")
	}
	return nil, refuse(NotAnImage, "Choose a JPEG or PNG photo.", "The file is not a photo that can be read.")
}

// fits judges the size that a header claims.
func fits(w, h, bytesPerPixel int) *Refusal {
	switch {
	case w < leastSide || h < leastSide:
		return refuse(TooTiny, otherPhoto, "The photo is %d × %d pixels; it needs at least %d each way.", w, h, leastSide)
	case w > mostSide || h > mostSide || w*h*max(bytesPerPixel, 4) > mostPixels*4:
		return refuse(TooLarge, "Let the phone save a smaller photo; 12 megapixels are plenty.", "The photo claims %d × %d pixels; at most %d megapixels are read.", w, h, mostPixels*4/max(bytesPerPixel, 4)/1_000_000)
	}
	return nil
}

func readJPEG(raw []byte) (*Photo, error) {
	file, r := scanJPEG(raw)
	if r != nil {
		return nil, r
	}
	cfg, err := jpeg.DecodeConfig(bytes.NewReader(file.clean))
	if err != nil {
		return nil, refuse(Damaged, otherPhoto, "The photo's header cannot be read.")
	}
	if r := fits(cfg.Width, cfg.Height, 4); r != nil {
		return nil, r
	}
	if file.decoded > mostDecoded {
		return nil, refuse(TooLarge, "Let the phone save a smaller photo; 12 megapixels are plenty.", "The photo is written so that reading it takes %d MB; at most %d are given.", file.decoded>>20, mostDecoded>>20)
	}
	img, err := jpeg.Decode(bytes.NewReader(file.clean))
	if err != nil {
		return nil, refuse(Damaged, otherPhoto, "The photo is damaged or was cut off on its way.")
	}
	return newPhoto(img, "jpeg", file.clean, file.notes), nil
}

func readPNG(raw []byte) (*Photo, error) {
	clean, notes, r := scanPNG(raw)
	if r != nil {
		return nil, r
	}
	cfg, err := png.DecodeConfig(bytes.NewReader(clean))
	if err != nil {
		return nil, refuse(Damaged, otherPhoto, "The photo's header cannot be read.")
	}
	per := 4
	if cfg.ColorModel == color.RGBA64Model || cfg.ColorModel == color.NRGBA64Model {
		per = 8
	}
	if r := fits(cfg.Width, cfg.Height, per); r != nil {
		return nil, r
	}
	img, err := png.Decode(bytes.NewReader(clean))
	if err != nil {
		return nil, refuse(Damaged, otherPhoto, "The photo is damaged or was cut off on its way.")
	}
	return newPhoto(img, "png", clean, notes), nil
}

func newPhoto(img image.Image, format string, clean []byte, n notes) *Photo {
	p := &Photo{Image: upright(img, n.orientation), Format: format, clean: clean, turning: n.orientation}
	b := p.Image.Bounds()
	p.WidthPx, p.HeightPx = b.Dx(), b.Dy()
	if n.focal35Mm > 0 {
		// The note is the lens on a 36 × 24 mm frame, compared by the diagonal.
		p.FocalPx = n.focal35Mm / math.Hypot(36, 24) * math.Hypot(float64(p.WidthPx), float64(p.HeightPx))
	}
	return p
}

// Stored is the photo to keep: upright, without any note of place, time, person or device. A photo that was
// upright keeps its very pixels; one that had to be turned is written anew (JPEG quality 92, or PNG).
func (p *Photo) Stored() ([]byte, error) {
	if p.turning <= 1 {
		return p.clean, nil
	}
	var out bytes.Buffer
	var err error
	if p.Format == "png" {
		err = png.Encode(&out, p.Image)
	} else {
		err = jpeg.Encode(&out, p.Image, &jpeg.Options{Quality: 92})
	}
	return out.Bytes(), err
}
