package web_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/evidence/scene"
	"lowtide/web/page"
)

// TestOneStripIsStated: a photo with one strip has no size until the nurse says that only one was laid; the entry and the
// log keep her word, and a size that was seen without it is not confirmed with it.
func TestOneStripIsStated(t *testing.T) {
	d := scene.Ordinary(900, 2, 5, 2, true)
	d.Strips = d.Strips[:1]
	c := newClient(t)
	patients(c)
	photo := c.keepPhoto(oneCase, 2*day, d.Paint(), casebook.PhotoTaken{Wound: "A", WidthPx: d.Camera.WidthPx, HeightPx: d.Camera.HeightPx})
	path := page.OutlinePath(oneCase, photo)
	form := c.open(path).values
	var edge [][2]float64
	for _, p := range d.Loop() {
		edge = append(edge, [2]float64{p.X, p.Y})
	}
	line, err := json.Marshal(map[string]any{"parts": []any{map[string]any{"wound": "A", "edge": edge, "islands": []any{}}}, "ruler": []any{}, "depths": []any{}})
	if err != nil {
		t.Fatal(err)
	}
	form.Set("drawing", string(line))
	w := c.post(path+"/measure", form)
	for _, want := range []string{"second strip was not seen", "Lay or uncover the second strip", "only one was laid", `href="#f-one_laid"`} {
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), want) {
			t.Errorf("%d, not said: %q in %s", w.Code, want, said(w.Body.String()))
		}
	}
	if !strings.Contains(c.get(path).Body.String(), `id="f-one_laid"`) {
		t.Error("the page has no place to say that only one strip was laid")
	}
	stated := url.Values{}
	for k, v := range form {
		stated[k] = v
	}
	stated.Set("one_laid", "true")
	panel := c.post(path+"/measure", stated)
	if panel.Code != http.StatusOK || !strings.Contains(panel.Body.String(), "cannot tell whether the skin under it slopes") {
		t.Fatal(panel.Code, said(panel.Body.String()))
	}
	n := len(c.entries(oneCase))
	stated.Set("seen", seen(t, panel))
	form.Set("seen", stated.Get("seen"))
	if w := c.post(path+"/confirm", form); w.Code != http.StatusUnprocessableEntity || len(c.entries(oneCase)) != n {
		t.Error("the statement was taken back, and the size was written", w.Code)
	}
	if w := c.post(path+"/confirm", stated); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, said(w.Body.String()))
	}
	list := c.entries(oneCase)
	b, ok := list[len(list)-1].Body.(casebook.OutlineTraced)
	if !ok || b.Scale.By != "one strip" || !b.Scale.OneLaid {
		t.Fatalf("%+v", b.Scale)
	}
	const word = "the only one that was laid"
	if text := c.get(page.CasePath(oneCase, "log")).Body.String(); !strings.Contains(text, word) {
		t.Errorf("the log does not say %q", word)
	}
	// An outline from before it was asked stays as it was.
	b.Scale.OneLaid = false
	c.add(oneCase, day, b)
	if text := c.get(path).Body.String(); strings.Count(text, word) != 1 || strings.Count(text, "one strip") < 2 {
		t.Errorf("%d and %d times: %s", strings.Count(text, word), strings.Count(text, "one strip"), said(text))
	}
}
