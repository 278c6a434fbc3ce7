package outline_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"testing"
)

func readFile(t *testing.T, name string) string {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

func pngOf(img image.Image) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// parsePGM reads the grey picture that poppler writes: "P5", width, height, 255, then the pixels.
func parsePGM(t *testing.T, raw []byte) *image.Gray {
	t.Helper()
	var w, h, most int
	if n, err := fmt.Sscanf(string(raw[:min(40, len(raw))]), "P5\n%d %d\n%d", &w, &h, &most); n != 3 || most != 255 {
		t.Fatalf("not a grey picture: %v", err)
	}
	if len(raw) < w*h {
		t.Fatal("the picture is cut off")
	}
	return &image.Gray{Pix: raw[len(raw)-w*h:], Stride: w, Rect: image.Rect(0, 0, w, h)}
}
