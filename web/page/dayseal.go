package page

import (
	"fmt"
	"strings"
)

// DaySeal is the page of the seal of the day.
type DaySeal struct {
	Frame
	Text, At string
	// Path draws the dark modules of the code, Size is its side in modules with the quiet zone.
	Path string
	Size int
}

// sealQuiet is the quiet zone around a QR code in modules (ISO/IEC 18004).
const sealQuiet = 4

// NewDaySeal builds the page; code is true where a module is dark.
func NewDaySeal(frame Frame, text, at string, code [][]bool) DaySeal {
	var path strings.Builder
	for y, row := range code {
		for x := 0; x < len(row); x++ {
			if !row[x] {
				continue
			}
			from := x
			for x+1 < len(row) && row[x+1] {
				x++
			}
			fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", from+sealQuiet, y+sealQuiet, x-from+1, x-from+1)
		}
	}
	return DaySeal{Frame: frame, Text: text, At: at, Path: path.String(), Size: len(code) + 2*sealQuiet}
}
