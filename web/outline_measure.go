package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"net/url"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// measureOutline works out the sizes of a drawing and sends the panel that shows them. Nothing is kept.
func (s *Server) measureOutline(r *Request) (Answer, error) {
	photo, err := openPhoto(r)
	if err != nil {
		return nil, err
	}
	_, result, ps, err := s.sizesOf(r, photo)
	if err != nil {
		return nil, err
	}
	status := http.StatusOK
	if ps.Err() != nil || !result.Confirmable() {
		status = http.StatusUnprocessableEntity
	}
	return show(status, page.OutlineSizes(result))
}

// sizesOf measures the drawing of the form. With problems nothing is measured.
func (s *Server) sizesOf(r *Request, photo *casebook.Photo) (sizes state.OutlineSizes, result *page.OutlineResult, ps intake.Problems, err error) {
	drawn, found := readDrawing(r.form, photo)
	ps = append(r.broken, found...)
	for i, p := range drawn.Parts {
		if r.c.Wound(p.Wound) == nil {
			ps = append(ps, intake.Problem{Code: intake.CodeUnknownWound, Value: p.Wound, Message: "An outline belongs to no wound of this patient.", Remedy: "Choose its wound in the list of what is drawn."})
			drawn.Parts = drawn.Parts[:i]
			break
		}
	}
	seen := ""
	if ps.Err() == nil {
		raw, err := s.Caseload.Book.Blob(r.Context(), r.c.ID, photo.Blob)
		if err != nil {
			return sizes, nil, nil, err
		}
		if !state.IsWhole(raw, photo.Body) {
			return sizes, nil, nil, errSmallPhoto
		}
		sizes = state.MeasureDrawn(raw, photo.Body, drawn)
		seen = seenMark(r.form, sizes)
	}
	result = page.NewOutlineResult(r.c.ID, photo.Body.Wound, sizes, seen, page.Typed{Values: r.form, Problems: ps})
	return sizes, result, ps, nil
}

// errSmallPhoto: a phone without a network keeps photos of others small, and sizes on such a one would be wrong.
var errSmallPhoto = refuse(http.StatusConflict, "This photo is here only small, so nothing can be measured on it.", "Draw the outline when there is a network; what you drew is kept on this phone.")

// seenMark stands for a drawing and exactly the sizes that were shown for it: a confirmation names it, so that nobody
// confirms numbers that she did not see.
func seenMark(form url.Values, sizes state.OutlineSizes) string {
	h := sha256.New()
	for _, part := range []string{canonical(form.Get("drawing")), form.Get("check_ruler_mm"), form.Get("one_laid"), form.Get("ruler_cm"), form.Get("girth_cm"), form.Get("depth_cm")} {
		h.Write([]byte(part + "\x00"))
	}
	for _, x := range sizes.Wounds {
		raw, err := json.Marshal(x.Entry)
		if err != nil {
			return "" // not a number: nothing that could be confirmed
		}
		h.Write(raw)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}
