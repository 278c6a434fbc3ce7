package web_test

import (
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/web/page"
)

// drawn is a square of 100 pixels beside a ruler of 50 pixels in a centimetre, with an island and a depth.
const drawn = `{"parts":[{"wound":"A","edge":[[100,100],[200,100],[200,200],[100,200]],"islands":[[[120,120],[130,120],[130,130],[120,130]]]}],"ruler":[[20,20],[270,20]],"depths":[{"x":150,"y":170,"cm":"1,5"}]}`

// outlined is a case with a photo, and the form that is on its page.
func outlined(t testing.TB) (c *client, photo string, form url.Values) {
	c = newClient(t)
	patients(c)
	photo = c.keepPhoto(oneCase, 2*day, plainPhoto(t, 320, 240), casebook.PhotoTaken{Wound: "A", WidthPx: 320, HeightPx: 240, Head: "top"})
	form = c.open(page.OutlinePath(oneCase, photo)).values
	form.Set("drawing", drawn)
	form.Set("ruler_cm", "5")
	return c, photo, form
}

// seen is the mark of the sizes that the panel shows.
func seen(t testing.TB, w *httptest.ResponseRecorder) string {
	t.Helper()
	_, rest, ok := strings.Cut(w.Body.String(), `name="seen" value="`)
	if !ok {
		t.Fatalf("nothing to confirm: %d %s", w.Code, said(w.Body.String()))
	}
	mark, _, _ := strings.Cut(rest, `"`)
	return mark
}

// TestOutlineIsConfirmed: what a nurse drew becomes an entry only when she confirms the sizes that she saw, once however
// often she sends it, and counts as a size at the time of the photo.
func TestOutlineIsConfirmed(t *testing.T) {
	c, photo, form := outlined(t)
	path := page.OutlinePath(oneCase, photo)
	n := len(c.entries(oneCase))
	panel := c.post(path+"/measure", form)
	if panel.Code != http.StatusOK || strings.Contains(panel.Body.String(), "<html") {
		t.Fatal(panel.Code, said(panel.Body.String()))
	}
	// 100 × 100 px less 10 × 10 px at 50 px/cm is 3.96 cm².
	for _, want := range []string{"4 cm², four times in five between 3.6 and 4.3 cm²", "standard error", "tilt"} {
		if !strings.Contains(panel.Body.String(), want) {
			t.Errorf("the panel does not say %q: %s", want, said(panel.Body.String()))
		}
	}
	if w := c.post(path+"/confirm", form); w.Code != http.StatusUnprocessableEntity || len(c.entries(oneCase)) != n {
		t.Error("sizes that nobody saw were written", w.Code)
	}
	form.Set("seen", seen(t, panel))
	moved := url.Values{}
	for k, v := range form {
		moved[k] = v
	}
	moved.Set("note", "typed with care")
	moved.Set("drawing", strings.Replace(drawn, "[200,200]", "[200,210]", 1))
	w := c.post(path+"/confirm", moved)
	if w.Code != http.StatusUnprocessableEntity || len(c.entries(oneCase)) != n || !strings.Contains(w.Body.String(), "200,210") || !strings.Contains(w.Body.String(), "typed with care") {
		t.Error("another drawing than the one that was seen was written, or it was lost", w.Code)
	}
	form.Set("note", "edge clear all around")
	for range 2 {
		if w := c.post(path+"/confirm", form); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code, said(w.Body.String()))
		}
	}
	list := c.entries(oneCase)
	b, ok := list[len(list)-1].Body.(casebook.OutlineTraced)
	if !ok || len(list) != n+1 || b.Photo != photo || math.Abs(b.AreaCm2-3.96) > 0.001 || !(b.AreaSECm2 > 0) || b.Scale.By != "ruler" || *b.Scale.RulerCm != 5 || len(b.Parts[0].Islands) != 1 || b.Depths[0].DepthCm != 1.5 || b.Note != "edge clear all around" {
		t.Fatalf("%d entries, %+v", len(list)-n, b)
	}
	folded := casebook.Fold(oneCase, list)
	m := folded.Wound("A").Measured
	last := m[len(m)-1]
	if last.ID != list[len(list)-1].ID || !last.At.Equal(folded.Photo(photo).At) {
		t.Errorf("%+v", last)
	}
	if text := c.get(path).Body.String(); !strings.Contains(text, `points="100,100 200,100`) || !strings.Contains(text, "4 cm², four times in five between 3.6 and 4.3 cm²") {
		t.Error("the page does not show what was confirmed")
	}
}

// TestOutlineRefusals: what is missing is said in words, and nothing is written.
func TestOutlineRefusals(t *testing.T) {
	c, photo, form := outlined(t)
	path := page.OutlinePath(oneCase, photo)
	n := len(c.entries(oneCase))
	for name, x := range map[string]struct {
		change func(url.Values)
		want   string
	}{
		"nothing drawn":     {func(v url.Values) { v.Set("drawing", `{"parts":[],"ruler":[],"depths":[]}`) }, "Nothing is drawn"},
		"no drawing":        {func(v url.Values) { v.Del("drawing") }, "did not arrive whole"},
		"not JSON":          {func(v url.Values) { v.Set("drawing", `{"parts":`) }, "did not arrive whole"},
		"outside the photo": {func(v url.Values) { v.Set("drawing", strings.Replace(drawn, "[200,200]", "[900,200]", 1)) }, "did not arrive whole"},
		"no number":         {func(v url.Values) { v.Set("drawing", strings.Replace(drawn, "[200,200]", "[1e999,200]", 1)) }, "did not arrive whole"},
		"crosses itself": {func(v url.Values) {
			v.Set("drawing", strings.Replace(drawn, "[200,100],[200,200],[100,200]", "[200,200],[200,100],[110,190]", 1))
		}, "crosses itself"},
		"no distance":        {func(v url.Values) { v.Set("ruler_cm", "") }, "distance is missing"},
		"a distance in text": {func(v url.Values) { v.Set("ruler_cm", "long") }, "cannot be"},
		"one ruler point":    {func(v url.Values) { v.Set("drawing", strings.Replace(drawn, `[[20,20],[270,20]]`, `[[20,20]]`, 1)) }, "two points"},
		"no scale": {func(v url.Values) {
			v.Set("drawing", strings.Replace(drawn, `[[20,20],[270,20]]`, `[]`, 1))
			v.Del("ruler_cm")
		}, "Cannot be measured"},
		"an empty depth":    {func(v url.Values) { v.Set("drawing", strings.Replace(drawn, "1,5", "", 1)) }, "without a depth"},
		"an unknown wound":  {func(v url.Values) { v.Set("drawing", strings.Replace(drawn, `"A"`, `"Z"`, 1)) }, "no wound of this patient"},
		"an island outside": {func(v url.Values) { v.Set("drawing", strings.Replace(drawn, "[120,120]", "[20,120]", 1)) }, "outside the wound"},
	} {
		v := url.Values{}
		for k, values := range form {
			v[k] = values
		}
		x.change(v)
		for _, to := range []string{"/measure", "/confirm"} {
			w := c.post(path+to, v)
			if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), x.want) {
				t.Errorf("%s%s: %d %s", name, to, w.Code, said(w.Body.String()))
			}
		}
	}
	if len(c.entries(oneCase)) != n {
		t.Error("something was written")
	}
}

// TestPullEdge: the answer is a line on the photo, or words.
func TestPullEdge(t *testing.T) {
	c, photo, _ := outlined(t)
	ask := func(body string) (*httptest.ResponseRecorder, map[string]any) {
		r := httptest.NewRequest("POST", "http://127.0.0.1"+page.OutlinePath(oneCase, photo)+"/edge", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		w := c.do(r)
		var got map[string]any
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
			t.Fatal(w.Code, err, w.Body.String())
		}
		return w, got
	}
	if w, got := ask(`{"line":[[100,100],[200,100],[200,200],[100,200]]}`); w.Code != http.StatusOK || len(got["edge"].([]any)) < 3 {
		t.Error(w.Code, got)
	}
	for _, bad := range []string{`{}`, `{"line":[[1,1],[2,2]]}`, `{"line":[[100,100],[9000,100],[200,200]]}`, `[`} {
		if w, got := ask(bad); w.Code != http.StatusUnprocessableEntity || got["words"] == "" {
			t.Error(bad, w.Code, got)
		}
	}
}

// TestOutlineToLookAt: who may not write sees the photo and what was confirmed, and no way to draw.
func TestOutlineToLookAt(t *testing.T) {
	wd := staffed(t)
	photo := wd.keepPhoto(oneCase, day, plainPhoto(t, 320, 240), casebook.PhotoTaken{Wound: "A", WidthPx: 320, HeightPx: 240})
	for who, draws := range map[string]bool{"n.east": true, "p.east": false, "r.east": false} {
		wd.jar = map[string]*http.Cookie{}
		wd.signIn(who)
		text := wd.get(page.OutlinePath(oneCase, photo)).Body.String()
		if !strings.Contains(text, page.PhotoPath(oneCase, photo)) || strings.Contains(text, "data-outline") != draws {
			t.Errorf("%s: draws %v", who, !draws)
		}
	}
}

// TestMovedPhoto: a photo that was taken of another patient goes there with its bytes and its outlines, and counts here
// no more.
func TestMovedPhoto(t *testing.T) {
	c, photo, form := outlined(t)
	path := page.OutlinePath(oneCase, photo)
	form.Set("seen", seen(t, c.post(path+"/measure", form)))
	if w := c.post(path+"/confirm", form); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	c.add(otherCase, 5*day, casebook.WoundFound{Wound: "A", Site: "left hip", Type: "pressure"})
	move := c.open(page.CasePath(oneCase, "correct", photo) + "?do=move").values
	move.Set("other_case", otherCase)
	move.Set("reason", "the other patient's photo")
	for range 2 {
		if w := c.post(page.CasePath(oneCase, "correct", photo), move); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code, said(w.Body.String()))
		}
	}
	here, there := casebook.Fold(oneCase, c.entries(oneCase)), casebook.Fold(otherCase, c.entries(otherCase))
	if len(here.Photos) != 0 || len(here.Wound("A").Outlines) != 0 {
		t.Errorf("still here: %d photos, %d outlines", len(here.Photos), len(here.Wound("A").Outlines))
	}
	if len(there.Photos) != 1 || len(there.Wound("A").Outlines) != 1 {
		t.Fatalf("there: %d photos, %d outlines", len(there.Photos), len(there.Wound("A").Outlines))
	}
	if w := c.get(page.PhotoPath(otherCase, there.Photos[0].ID)); w.Code != http.StatusOK || w.Header().Get("Content-Type") != "image/jpeg" {
		t.Error("the photo's bytes did not come along", w.Code)
	}
	if w := c.get(page.PhotoPath(oneCase, photo)); w.Code != http.StatusNotFound {
		t.Error("the photo is still shown here", w.Code)
	}
	if w := c.get(page.OutlinePath(otherCase, there.Photos[0].ID)); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "4 cm², four times in five between 3.6 and 4.3 cm²") {
		t.Error("the outline is not shown there", w.Code)
	}
}

// TestEdgePage: two outlines of two days are laid over each other, with a table around the clock; one alone says what is
// missing.
func TestEdgePage(t *testing.T) {
	c := newClient(t)
	patients(c)
	if w := c.get(page.EdgePath(oneCase, "A")); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "It takes two confirmed outlines") {
		t.Error(w.Code, said(w.Body.String()))
	}
	for i, side := range []string{"0,0 6,0 6,6 0,6", "0.5,0.5 5.5,0.5 5.5,5.5 0.5,5.5"} {
		photo := c.keepPhoto(oneCase, time.Duration(10-8*i)*day, plainPhoto(t, 320, 240), casebook.PhotoTaken{Wound: "A", WidthPx: 320, HeightPx: 240, Head: "top"})
		c.add(oneCase, time.Duration(9-8*i)*day, casebook.OutlineTraced{Wound: "A", Photo: photo, Parts: []casebook.TracedPart{{Edge: "1,1 100,1 100,100", EdgeCm: side}}, HeadCm: "0,-1",
			Marks: "1,1 9,9", MarksCm: "0,0 6,6", Scale: casebook.TracedScale{By: "two strips"}, AreaCm2: []float64{36, 25}[i], AreaSECm2: 0.5})
	}
	text := c.get(page.EdgePath(oneCase, "A")).Body.String()
	for _, want := range []string{"came in by 5 mm, four times in five between", "by marks on the skin", "3 o&#39;clock", "closing", "<polygon"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}
