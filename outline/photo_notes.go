package outline

import (
	"bytes"
	"encoding/binary"
)

// notes are the two things that are used of what a camera writes beside its picture. All the rest (place, time,
// device, owner, thumbnails, maker's notes) is left out of what is stored.
type notes struct {
	orientation int
	focal35Mm   float64
}

// jpegFile is a JPEG reduced to its picture.
type jpegFile struct {
	clean []byte
	notes notes
	// decoded is how many bytes the picture takes while it is decoded.
	decoded int
}

// scanJPEG walks the segments of a JPEG (ITU-T T.81, annex B): it keeps tables, frame and scans, drops comments and
// application segments except JFIF (APP0), colour profile (APP2 "ICC_PROFILE") and colour transform (APP14), and
// drops what follows the end of the picture: phones append films and second pictures with notes of their own.
func scanJPEG(raw []byte) (jpegFile, *Refusal) {
	cut := refuse(Damaged, otherPhoto, "The photo is damaged or was cut off on its way.")
	out := jpegFile{clean: append(make([]byte, 0, len(raw)), raw[:2]...)}
	scans := 0
	for i := 2; ; {
		for i < len(raw) && raw[i] != 0xff {
			i++ // bytes between segments mean nothing
		}
		for i < len(raw) && raw[i] == 0xff {
			i++
		}
		if i >= len(raw) {
			return out, cut
		}
		marker := raw[i]
		i++
		switch {
		case marker == 0xd9: // end of image
			out.clean = append(out.clean, 0xff, 0xd9)
			return out, nil
		case marker == 0x01 || marker >= 0xd0 && marker <= 0xd8 || marker == 0:
			continue
		}
		if i+2 > len(raw) {
			return out, cut
		}
		n := int(binary.BigEndian.Uint16(raw[i:]))
		if n < 2 || i+n > len(raw) {
			return out, cut
		}
		body := raw[i+2 : i+n]
		keep := true
		switch {
		case marker >= 0xc0 && marker <= 0xc2:
			out.decoded = max(out.decoded, frameBytes(marker, body))
		case marker == 0xe1:
			keep = false
			if rest, ok := bytes.CutPrefix(body, []byte("Exif\x00\x00")); ok {
				out.notes.read(rest)
			}
		case marker == 0xe2:
			keep = bytes.HasPrefix(body, []byte("ICC_PROFILE\x00"))
		case marker >= 0xe0 && marker <= 0xef:
			keep = marker == 0xe0 && bytes.HasPrefix(body, []byte("JFIF\x00")) || marker == 0xee
		case marker == 0xfe:
			keep = false
		}
		end := i + n
		if marker == 0xda {
			if scans++; scans > mostScans {
				return out, refuse(TooLarge, otherPhoto, "The photo is written in more than %d passes.", mostScans)
			}
			for end+1 < len(raw) && !(raw[end] == 0xff && raw[end+1] != 0 && (raw[end+1] < 0xd0 || raw[end+1] > 0xd7)) {
				end++
			}
		}
		if keep {
			out.clean = append(out.clean, 0xff, marker)
			out.clean = append(out.clean, raw[i:end]...)
		}
		i = end
	}
}

// frameBytes is what a frame header (T.81, B.2.2) makes a decoder hold: a byte for each sample, and four more for
// its coefficient when the picture comes in passes.
func frameBytes(marker byte, body []byte) int {
	if len(body) < 6 {
		return 0
	}
	h, w, n := int(binary.BigEndian.Uint16(body[1:])), int(binary.BigEndian.Uint16(body[3:])), int(body[5])
	if len(body) < 6+3*n {
		return 0
	}
	hMost, vMost := 1, 1
	for i := range n {
		hMost, vMost = max(hMost, int(body[7+3*i]>>4)), max(vMost, int(body[7+3*i]&15))
	}
	samples := 0
	for i := range n {
		samples += w * int(body[7+3*i]>>4) / hMost * (h * int(body[7+3*i]&15) / vMost)
	}
	if marker == 0xc2 {
		return 5 * samples
	}
	return samples
}

// scanPNG keeps the chunks that make the picture and its colours, and reads the notes of the eXIf chunk.
func scanPNG(raw []byte) ([]byte, notes, *Refusal) {
	cut := refuse(Damaged, otherPhoto, "The photo is damaged or was cut off on its way.")
	keep := map[string]bool{"IHDR": true, "PLTE": true, "IDAT": true, "IEND": true, "tRNS": true, "gAMA": true, "cHRM": true, "sRGB": true, "iCCP": true, "sBIT": true}
	var n notes
	out := append(make([]byte, 0, len(raw)), raw[:8]...)
	for i := 8; ; {
		if i+12 > len(raw) {
			return nil, n, cut
		}
		size := binary.BigEndian.Uint32(raw[i:])
		if uint64(size) > uint64(len(raw)-i-12) {
			return nil, n, cut
		}
		kind := string(raw[i+4 : i+8])
		end := i + 12 + int(size)
		if keep[kind] {
			out = append(out, raw[i:end]...)
		}
		if kind == "eXIf" {
			n.read(raw[i+8 : end-4])
		}
		if kind == "IEND" {
			return out, n, nil
		}
		i = end
	}
}

// read takes orientation and focal length from EXIF notes, a TIFF structure (CIPA DC-008: tags 0x0112, 0x8769,
// 0xA405). Whatever does not make sense is passed over: a photo is not refused for its notes.
func (n *notes) read(tiff []byte) {
	if len(tiff) < 8 {
		return
	}
	var order binary.ByteOrder
	switch string(tiff[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return
	}
	sub := n.directory(tiff, order, order.Uint32(tiff[4:]))
	if sub != 0 {
		n.directory(tiff, order, sub)
	}
}

// directory reads one list of tags and returns where the camera's own list begins, if it is named here.
func (n *notes) directory(tiff []byte, order binary.ByteOrder, at uint32) (sub uint32) {
	if uint64(at)+2 > uint64(len(tiff)) {
		return 0
	}
	count := int(order.Uint16(tiff[at:]))
	for k := range count {
		e := uint64(at) + 2 + 12*uint64(k)
		if e+12 > uint64(len(tiff)) {
			return sub
		}
		entry := tiff[e:]
		const short, long = 3, 4
		kind := order.Uint16(entry[2:])
		switch order.Uint16(entry) {
		case 0x0112:
			if v := order.Uint16(entry[8:]); kind == short && v >= 1 && v <= 8 {
				n.orientation = int(v)
			}
		case 0xa405:
			if v := order.Uint16(entry[8:]); kind == short && v >= 8 && v <= 300 {
				n.focal35Mm = float64(v)
			}
		case 0x8769:
			if kind == long {
				sub = order.Uint32(entry[8:])
			}
		}
	}
	return sub
}
