package web

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// photoLimit is the greatest form with a photo. It is larger than a photo may be, so that one that is too large is
// answered at its field and nothing that was typed is lost.
const photoLimit = 2 * state.MostPhotoBytes

// photoTime is how long a photo or another file may take to arrive over a poor line: 17 MB at 100 kB/s.
const photoTime = 170 * time.Second

// allowLong gives a file the time to arrive. The server's own deadlines are for forms of text; a writer that has none
// needs no longer one.
func allowLong(w http.ResponseWriter) {
	line := http.NewResponseController(w)
	line.SetReadDeadline(lineTime(photoTime))
	line.SetWriteDeadline(lineTime(photoTime + 10*time.Second))
}

// lineTime is a time from now on the clock that connections keep, which is the machine's and not always the one that
// entries are told by.
func lineTime(d time.Duration) time.Time {
	ctx, cancel := context.WithTimeout(context.Background(), d)
	defer cancel()
	t, _ := ctx.Deadline()
	return t
}

// savePhoto keeps a photo and its entry. Place, time and device are taken out of the file first.
func (s *Server) savePhoto(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	form, raw, ps, ok := s.readPhotoForm(w, r)
	if !ok {
		return
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
		s.fail(w, r, err)
		return
	}
	e := s.entry(r, id, o.c.ID, at, photo)
	if ps.Err() == nil && o.c.Line(id) == nil {
		hash, err := s.Caseload.Book.PutBlob(r.Context(), o.c.ID, clean)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		e.Blobs = []string{hash}
	} else {
		// Refused, or the same form again: nothing is kept, and the entry's other parts are still judged.
		e.Blobs = []string{casebook.BlobHash(clean)}
	}
	ps, to, err := s.write(r.Context(), o.c.ID, []draft{{entry: e, form: form}}, ps, nil)
	if err == nil && (to == kept || to == before) {
		http.Redirect(w, r, page.OutlinePath(o.c.ID, id), http.StatusSeeOther)
		return
	}
	s.answer(w, r, o, id, to, err, func() {
		in.Problems = ps
		s.render(w, r, http.StatusUnprocessableEntity, page.Photo(page.NewPhoto(s.caseFrame(r, o, "Photo of a wound"), in)))
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
func (s *Server) readPhotoForm(w http.ResponseWriter, r *http.Request) (form url.Values, raw []byte, ps intake.Problems, ok bool) {
	u, ok := s.openUpload(w, r, "Open the case and fill in the form there.", 40, smallForm)
	if !ok {
		return nil, nil, nil, false
	}
	for {
		part, err := u.file(page.PhotoField)
		if part == nil && err == nil {
			return u.fields, raw, ps, true
		}
		if err == nil {
			raw, err = io.ReadAll(io.LimitReader(part, state.MostPhotoBytes+1))
		}
		if err == nil && len(raw) > state.MostPhotoBytes {
			raw = nil
			ps = append(ps, page.PhotoTooLarge)
			_, err = io.Copy(io.Discard, part)
		}
		if s.overLimit(w, r, err) {
			return nil, nil, nil, false
		}
		if err != nil {
			return u.fields, raw, append(ps, intake.Problem{Pointer: page.PhotoField, Code: intake.CodeSyntax, Message: "The photo did not arrive whole.", Remedy: "Look through the fields, choose the photo again and send the form again."}), true
		}
	}
}

// showPhoto sends the bytes of a photo that counts in the case. The guard has seen to role, list and access log, and no
// browser may keep the answer.
func (s *Server) showPhoto(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	photo := o.c.Photo(r.PathValue("entry"))
	if photo == nil || photo.Blob == "" {
		s.missing(w, r)
		return
	}
	content, err := s.Caseload.Book.Blob(r.Context(), o.c.ID, photo.Blob)
	if errors.Is(err, casebook.ErrNotFound) && !errors.Is(err, casebook.ErrNotBrought) {
		s.missing(w, r)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	kind := http.DetectContentType(content)
	if !strings.HasPrefix(kind, "image/jpeg") && !strings.HasPrefix(kind, "image/png") {
		kind = "application/octet-stream"
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Length", strconv.Itoa(len(content)))
	w.Write(content)
}
