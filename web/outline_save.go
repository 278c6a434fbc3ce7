package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// saveOutline writes what a nurse drew and confirmed: one entry a wound. The sizes are worked out again here; they are
// written only when they are those that she saw.
func (s *Server) saveOutline(r *Request) (Answer, error) {
	o := r.opened
	photo, err := openPhoto(r)
	if err != nil {
		return nil, err
	}
	form := r.form
	sizes, result, ps, err := s.sizesOf(r, photo)
	if err != nil {
		return nil, err
	}
	at, ok := keyTime(form.Get("-key"))
	if !ok {
		ps = append(ps, keyProblem)
	}
	switch {
	case ps.Err() != nil:
	case !result.Confirmable():
		ps = append(ps, intake.Problem{Code: intake.CodeMissing, Message: "Not every outline has a size.", Remedy: "Look at the reasons below; nothing is written until each has one."})
	case form.Get("seen") != result.Seen:
		ps = append(ps, intake.Problem{Code: intake.CodeOrder, Message: "The drawing is not the one whose sizes you saw.", Remedy: "Look at the sizes below once more, then confirm."})
	}
	drafts, found := s.outlineDrafts(r, o, photo, form, sizes, at)
	ps = intake.Join(ps, found)
	ps, to, err := s.write(r.Context(), o.c.ID, drafts, ps, nil)
	if err == nil && (to == kept || to == before) && len(drafts) > 0 {
		return goTo(page.OutlinePath(o.c.ID, photo.ID) + "?saved=1#confirmed")
	}
	return afterWrite(o.c.ID, "", to, err, func() (Answer, error) {
		return s.renderOutline(r, http.StatusUnprocessableEntity, o, photo, page.Typed{Values: form, Problems: ps}, result)
	})
}

// keyTime is when a form was opened: the time of what was drawn in it, the same however often the form is sent.
func keyTime(key string) (time.Time, bool) {
	if _, ok := entryID(key, 0); !ok {
		return time.Time{}, false
	}
	text, _, _ := strings.Cut(key, ".")
	ms, err := strconv.ParseInt(text, 36, 64)
	return time.UnixMilli(ms).UTC().Truncate(time.Second), err == nil
}

// outlineDrafts makes the entries, with what the nurse chose of volume, tissue and large wounds.
func (s *Server) outlineDrafts(r *Request, o opened, photo *casebook.Photo, form url.Values, sizes state.OutlineSizes, at time.Time) (drafts []draft, ps intake.Problems) {
	note := strings.TrimSpace(strings.ReplaceAll(form.Get("note"), "\r\n", "\n"))
	if utf8.RuneCountInString(note) > 4000 {
		ps = append(ps, intake.Problem{Code: intake.CodeLength, Message: "The note is longer than 4,000 characters.", Remedy: "Shorten it."})
	}
	adds := form.Get("adds_to")
	if adds != "" && len(sizes.Wounds) != 1 {
		ps = append(ps, intake.Problem{Pointer: "adds_to", Code: intake.CodeContradicts, Message: "Only one wound can be a further part of an outline.", Remedy: "Draw the wounds on photos of their own."})
	}
	for i, x := range sizes.Wounds {
		b := x.Entry
		b.Photo, b.AddsTo, b.Note = photo.ID, adds, note
		if adds != "" {
			if other := o.c.Wound(x.Wound).Outline(adds); other == nil || other.Body.AddsTo != "" || other.Photo == photo.ID {
				ps = append(ps, intake.Problem{Pointer: "adds_to", Code: intake.CodeCorrection, Message: "That outline is not one of this wound on another photo.", Remedy: "Choose another, or say that the whole wound is on this photo."})
			}
		}
		for _, v := range x.Volumes {
			if v.Model == form.Get("volume/"+x.Wound) {
				cm3 := v.Cm3
				b.VolumeCm3, b.VolumeModel = &cm3, v.Model
			}
		}
		if how := form.Get("tissue/" + x.Wound); x.Tissue != nil && (how == "suggested" || how == "confirmed") {
			b.Tissue, b.TissueFrom = x.Tissue, how
		}
		id, _ := entryID(form.Get("-key"), i)
		drafts = append(drafts, draft{entry: s.entry(r, id, o.c.ID, at.In(o.c.Zone), b), form: form})
	}
	return drafts, ps
}
