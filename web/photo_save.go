package web

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// savePhoto keeps a photo and its entry. Place, time and device are taken out of the file first.
func (s *Server) savePhoto(r *Request) (Answer, error) {
	o := r.opened
	form, raw, ps, err := readPhotoForm(r.upload)
	if err != nil {
		return nil, err
	}
	body, found := intake.ReadForm(casebook.KindPhotoTaken, form, o.c.Zone)
	photo, _ := body.(casebook.PhotoTaken)
	at, atPs := readAt(form, "at", "When it was taken", o.c.Zone)
	// What the file says of itself is not typed: its size is filled in below.
	found = without(found, "width_px", "height_px")
	clean, filePs := cleanPhoto(raw, ps, &photo)
	ps = intake.Join(ps, found, atPs, filePs)
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		ps = append(ps, keyProblem)
	}
	in, err := s.formInput(o, form, nil)
	if err != nil {
		return nil, err
	}
	e := s.entry(r, id, o.c.ID, at, photo)
	if ps.Err() == nil && o.c.Line(id) == nil {
		hash, err := s.Caseload.Book.PutBlob(r.Context(), o.c.ID, clean)
		if err != nil {
			return nil, err
		}
		e.Blobs = []string{hash}
	} else {
		// Refused, or the same form again: nothing is kept, and the entry's other parts are still judged.
		e.Blobs = []string{casebook.BlobHash(clean)}
	}
	ps, to, err := s.write(r.Context(), o.c.ID, []draft{{entry: e, form: form}}, ps, nil)
	if err == nil && (to == kept || to == before) {
		return goTo(page.OutlinePath(o.c.ID, id))
	}
	return afterWrite(o.c.ID, id, to, err, func() (Answer, error) {
		in.Problems = ps
		return show(http.StatusUnprocessableEntity, page.Photo(page.NewPhoto(s.caseFrame(r, o, "Photo of a wound"), in)))
	})
}

// without leaves out the problems of fields that nobody typed.
func without(ps intake.Problems, pointers ...string) (out intake.Problems) {
next:
	for _, p := range ps {
		for _, x := range pointers {
			if p.Pointer == x {
				continue next
			}
		}
		out = append(out, p)
	}
	return out
}

// cleanPhoto strips a photo and reads its size. A file that cannot be used is a problem at its field, with what to do.
func cleanPhoto(raw []byte, ps intake.Problems, photo *casebook.PhotoTaken) ([]byte, intake.Problems) {
	for _, p := range ps {
		if p.Pointer == page.PhotoField {
			return nil, nil // said already
		}
	}
	wrong := func(message, remedy string) ([]byte, intake.Problems) {
		return nil, intake.Problems{{Pointer: page.PhotoField, Code: intake.CodeFormat, Message: message, Remedy: remedy}}
	}
	if len(raw) == 0 {
		return nil, intake.Problems{{Pointer: page.PhotoField, Code: intake.CodeMissing, Message: "The photo is missing.", Remedy: "Take one, or choose its file."}}
	}
	clean, width, height, refused := state.CleanPhoto(raw)
	if refused != nil {
		return wrong(refused.Words, refused.Remedy+" Choose the photo again.")
	}
	photo.WidthPx, photo.HeightPx = width, height
	return clean, nil
}

// readPhotoForm reads a form with a photo. One that is too large is a problem at its field.
func readPhotoForm(u *upload) (form url.Values, raw []byte, ps intake.Problems, err error) {
	for {
		part, err := u.file(page.PhotoField)
		if part == nil && err == nil {
			return u.fields, raw, ps, nil
		}
		if err == nil {
			raw, err = io.ReadAll(io.LimitReader(part, state.MostPhotoBytes+1))
		}
		if err == nil && len(raw) > state.MostPhotoBytes {
			raw = nil
			ps = append(ps, page.PhotoTooLarge)
			_, err = io.Copy(io.Discard, part)
		}
		if tooLarge(err) {
			return nil, nil, nil, err
		}
		if err != nil {
			return u.fields, raw, append(ps, intake.Problem{Pointer: page.PhotoField, Code: intake.CodeSyntax, Message: "The photo did not arrive whole.", Remedy: "Look through the fields, choose the photo again and send the form again."}), nil
		}
	}
}

// showPhoto sends the bytes of a photo that counts in the case. The guard has seen to role, list and access log, and no
// browser may keep the answer.
func (s *Server) showPhoto(r *Request) (Answer, error) {
	o := r.opened
	photo := o.c.Photo(r.PathValue("entry"))
	if photo == nil || photo.Blob == "" {
		return nil, errMissing
	}
	raw, err := s.Caseload.Book.Blob(r.Context(), o.c.ID, photo.Blob)
	if errors.Is(err, casebook.ErrNotFound) && !errors.Is(err, casebook.ErrNotBrought) {
		return nil, errMissing
	}
	if err != nil {
		return nil, err
	}
	kind := http.DetectContentType(raw)
	if !strings.HasPrefix(kind, "image/jpeg") && !strings.HasPrefix(kind, "image/png") {
		kind = "application/octet-stream"
	}
	return content{http.StatusOK, kind, "", raw}, nil
}
