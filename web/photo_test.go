package web_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/state"
	"lowtide/web/page"
)

// photoBody is a form with a file.
func photoBody(t testing.TB, form url.Values, file []byte) (io.Reader, string) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, values := range form {
		for _, v := range values {
			w.WriteField(name, v)
		}
	}
	if file != nil {
		part, err := w.CreateFormFile(page.PhotoField, "IMG_0001.JPG")
		if err != nil {
			t.Fatal(err)
		}
		part.Write(file)
	}
	w.Close()
	return &b, w.FormDataContentType()
}

func photoRequest(t testing.TB, path string, form url.Values, file []byte) *http.Request {
	body, kind := photoBody(t, form, file)
	r := httptest.NewRequest("POST", "http://127.0.0.1"+path, body)
	r.Header.Set("Content-Type", kind)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return r
}

// plainPhoto is a photo of nothing, with a place in it.
func plainPhoto(t testing.TB, width, height int) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			m.Set(x, y, color.RGBA{uint8(x), uint8(y), uint8(x ^ y), 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	secret := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x00SECRETPLACE"
	out := append([]byte{0xFF, 0xD8, 0xFF, 0xE1, 0, byte(len(secret) + 2)}, secret...)
	return append(out, b.Bytes()[2:]...)
}

func (c *client) photoForm() url.Values {
	return c.open(page.CasePath(oneCase, "photo")).values
}

// TestPhotoIsKept: a photo becomes an entry with its size, its bytes come back without the place, through a route that
// no browser may keep and that the access log knows of.
func TestPhotoIsKept(t *testing.T) {
	c := newClient(t)
	patients(c)
	form := c.photoForm()
	form.Set("wound", "A")
	form.Set("head", "top")
	form.Set("note", "after cleaning")
	raw := plainPhoto(t, 320, 200)
	w := c.do(photoRequest(t, page.CasePath(oneCase, "photo"), form, raw))
	if w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, said(w.Body.String()))
	}
	list := c.entries(oneCase)
	e := list[len(list)-1]
	body, ok := e.Body.(casebook.PhotoTaken)
	if !ok || body.WidthPx != 320 || body.HeightPx != 200 || body.Head != "top" || body.Note != "after cleaning" || len(e.Blobs) != 1 {
		t.Fatalf("%+v", e)
	}
	if to := w.Header().Get("Location"); to != page.OutlinePath(oneCase, e.ID) {
		t.Errorf("goes to %s", to)
	}
	got := c.get(page.PhotoPath(oneCase, e.ID))
	switch {
	case got.Code != http.StatusOK || got.Header().Get("Content-Type") != "image/jpeg":
		t.Error(got.Code, got.Header())
	case bytes.Contains(got.Body.Bytes(), []byte("SECRET")):
		t.Error("the place where it was taken was kept")
	case !strings.Contains(got.Header().Get("Cache-Control"), "no-store"):
		t.Error("a browser may keep the photo: ", got.Header().Get("Cache-Control"))
	case got.Header().Get("X-Content-Type-Options") != "nosniff":
		t.Error("the photo may be taken for something else")
	}
	// The same form again keeps it once.
	w = c.do(photoRequest(t, page.CasePath(oneCase, "photo"), form, raw))
	if w.Code != http.StatusSeeOther || len(c.entries(oneCase)) != len(list) {
		t.Error(w.Code, len(c.entries(oneCase))-len(list))
	}
	hashes, err := c.book.Store.BlobHashes(t.Context())
	if err != nil || len(hashes) != 1 {
		t.Error(hashes, err)
	}
	if page := c.get(page.CasePath(oneCase, "photo")); !strings.Contains(page.Body.String(), "no outline confirmed yet") {
		t.Error("the list of photos does not show it")
	}
}

// TestPhotoRefused: a file that cannot be used is answered at its field with what to do, what was typed comes back, and
// nothing is kept.
func TestPhotoRefused(t *testing.T) {
	c := newClient(t)
	patients(c)
	good := plainPhoto(t, 320, 200)
	for name, file := range map[string][]byte{"none": nil, "empty": {}, "text": []byte("not a photo"), "cut off": good[:len(good)/3], "HEIC": []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "one pixel": plainPhoto(t, 1, 1),
		"too large": append(append([]byte(nil), good...), make([]byte, state.MostPhotoBytes)...)} {
		form := c.photoForm()
		form.Set("wound", "A")
		form.Set("note", "typed with care")
		n := len(c.entries(oneCase))
		w := c.do(photoRequest(t, page.CasePath(oneCase, "photo"), form, file))
		text := w.Body.String()
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(text, "typed with care") || !strings.Contains(text, `href="#f-photo"`) {
			t.Errorf("%s: %d %s", name, w.Code, said(text))
		}
		if len(c.entries(oneCase)) != n {
			t.Errorf("%s: something was written", name)
		}
	}
	if hashes, err := c.book.Store.BlobHashes(t.Context()); err != nil || len(hashes) != 0 {
		t.Error(hashes, err)
	}
	// A good photo with a bad field: the file has to be chosen again, and nothing is kept.
	form := c.photoForm()
	form.Set("wound", "A")
	form.Set("at", "")
	if w := c.do(photoRequest(t, page.CasePath(oneCase, "photo"), form, good)); w.Code != http.StatusUnprocessableEntity {
		t.Error(w.Code)
	}
	if w := c.post(page.CasePath(oneCase, "photo"), form); w.Code != http.StatusUnsupportedMediaType {
		t.Error(w.Code)
	}
}

// keepPhoto writes a photo as it was before the test.
func (c *client) keepPhoto(id string, ago time.Duration, raw []byte, b casebook.PhotoTaken) string {
	c.t.Helper()
	hash, err := c.book.PutBlob(c.t.Context(), id, raw)
	if err != nil {
		c.t.Fatal(err)
	}
	c.n++
	at := noon.Add(-ago).Add(time.Duration(c.n) * time.Second)
	eid, _ := casebook.NewID(at, rand.NewChaCha8([32]byte{byte(c.n), 9}))
	_, head, err := c.book.Entries(c.t.Context(), id)
	if err == nil {
		_, err = c.book.Append(c.t.Context(), head, casebook.Entry{ID: eid, Case: id, Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: "N. Test", Body: b, Blobs: []string{hash}})
	}
	if err != nil {
		c.t.Fatal(err)
	}
	return eid
}

// TestPhotoIsLocked: stores and administrators reach a photo neither by its entry nor by its hash, a nurse of another
// team only with a reason, and every look is in the access log.
func TestPhotoIsLocked(t *testing.T) {
	wd := staffed(t)
	id := wd.keepPhoto(oneCase, day, plainPhoto(t, 40, 30), casebook.PhotoTaken{Wound: "A", WidthPx: 40, HeightPx: 30})
	hashes, err := wd.book.Store.BlobHashes(t.Context())
	if err != nil || len(hashes) != 1 {
		t.Fatal(hashes, err)
	}
	paths := []string{page.PhotoPath(oneCase, id)}
	for _, form := range []string{"/photo/%s", "/blob/%s", "/static/%s", "/case/" + oneCase + "/photo/%s", "/case/" + oneCase + "/outline/%s", "/case/%s"} {
		paths = append(paths, fmt.Sprintf(form, hashes[0]))
	}
	for _, who := range []string{"", "stores", "admin", "n.west"} {
		wd.jar = map[string]*http.Cookie{}
		if who != "" {
			wd.signIn(who)
		}
		for _, path := range paths {
			w := wd.get(path)
			if w.Code == http.StatusOK || bytes.Contains(w.Body.Bytes(), []byte{0xFF, 0xD8, 0xFF}) || strings.HasPrefix(w.Header().Get("Content-Type"), "image/") {
				t.Errorf("%q reaches %s: %d", who, path, w.Code)
			}
		}
	}
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("r.east")
	if w := wd.get(paths[0]); w.Code != http.StatusOK {
		t.Error("a reader of the team:", w.Code)
	}
	// Not even who may see the photo reaches it by its hash.
	for _, path := range paths[1:] {
		if w := wd.get(path); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	lines, _, err := wd.log.Find(t.Context(), accesslog.Query{Account: "r.east", Case: oneCase, What: accesslog.Read})
	if err != nil || len(lines) == 0 || !strings.Contains(lines[len(lines)-1].Page, "/photo/") {
		t.Error(lines, err)
	}
}
