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
func (s *Server) measureOutline(w http.ResponseWriter, r *http.Request) {
	o, photo, ok := s.openPhoto(w, r)
	if !ok {
		return
	}
	form, ps, ok := s.readForm(w, r)
	if !ok {
		return
	}
	_, result, ps, ok := s.sizesOf(w, r, o, photo, form, ps)
	if !ok {
		return
	}
	status := http.StatusOK
	if ps.Err() != nil || !result.Confirmable() {
		status = http.StatusUnprocessableEntity
	}
	s.render(w, r, status, page.OutlineSizes(result))
}

// sizesOf measures the drawing of a form. With problems nothing is measured. ok is false when the answer was given here.
func (s *Server) sizesOf(w http.ResponseWriter, r *http.Request, o opened, photo *casebook.Photo, form url.Values, read intake.Problems) (sizes state.OutlineSizes, result *page.OutlineResult, ps intake.Problems, ok bool) {
	drawn, found := readDrawing(form, photo)
	ps = append(read, found...)
	for i, p := range drawn.Parts {
		if o.c.Wound(p.Wound) == nil {
			ps = append(ps, intake.Problem{Code: intake.CodeUnknownWound, Value: p.Wound, Message: "An outline belongs to no wound of this patient.", Remedy: "Choose its wound in the list of what is drawn."})
			drawn.Parts = drawn.Parts[:i]
			break
		}
	}
	seen := ""
	if ps.Err() == nil {
		raw, ok := s.photoBytes(w, r, o, photo)
		if !ok {
			return sizes, nil, nil, false
		}
		sizes = state.MeasureDrawn(raw, photo.Body, drawn)
		seen = seenMark(form, sizes)
	}
	result = page.NewOutlineResult(o.c.ID, photo.Body.Wound, sizes, seen, page.Typed{Values: form, Problems: ps})
	return sizes, result, ps, true
}

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
