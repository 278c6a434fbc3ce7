package web_test

import (
	"net/http"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/web/page"
)

// TestPhotoNotBrought: a case that was imported without its photo says so where the photo would be, and what to do;
// there is nothing to draw on. Once it is brought it shows.
func TestPhotoNotBrought(t *testing.T) {
	c := newClient(t)
	patients(c)
	ctx, name := t.Context(), strings.Repeat("a", 64)
	const id = "019cd000-0000-7000-8000-0000000000f1"
	e := casebook.Entry{ID: id, Case: oneCase, Kind: casebook.KindPhotoTaken, Version: 1, At: noon.Add(-day), Recorded: noon, Author: "imported",
		Blobs: []string{name}, Body: casebook.PhotoTaken{Wound: "A", WidthPx: 300, HeightPx: 200}}
	if err := c.book.Await(ctx, oneCase, name, noon, "imported"); err != nil {
		t.Fatal(err)
	}
	_, head, err := c.book.Entries(ctx, oneCase)
	if err == nil {
		_, err = c.book.Append(ctx, head, e)
	}
	if err != nil {
		t.Fatal(err)
	}
	w := c.get(page.OutlinePath(oneCase, id))
	if body := w.Body.String(); w.Code != http.StatusOK || !strings.Contains(body, "The photo itself is not here.") || !strings.Contains(body, "--with-files") || strings.Contains(body, "<img") {
		t.Errorf("%d\n%s", w.Code, body)
	}
	if w := c.get(page.PhotoPath(oneCase, id)); w.Code != http.StatusNotFound || !strings.Contains(w.Body.String(), "This photo or log is not here.") {
		t.Errorf("%d\n%s", w.Code, w.Body)
	}
	if _, err := c.book.Bring(ctx, oneCase, name, []byte("\xff\xd8\xff photo"), noon, "imported"); err != nil {
		t.Fatal(err)
	}
	if w := c.get(page.OutlinePath(oneCase, id)); w.Code != http.StatusOK || strings.Contains(w.Body.String(), "is not here") || !strings.Contains(w.Body.String(), "<img") {
		t.Errorf("brought: %d\n%s", w.Code, w.Body)
	}
	if w := c.get(page.PhotoPath(oneCase, id)); w.Code != http.StatusOK || w.Body.String() != "\xff\xd8\xff photo" {
		t.Errorf("brought: %d %q", w.Code, w.Body)
	}
}
