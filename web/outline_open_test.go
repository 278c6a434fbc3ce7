package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/web/page"
)

// plainDrawn is the square with its ruler alone, 4 cm².
const plainDrawn = `{"parts":[{"wound":"A","edge":[[100,100],[200,100],[200,200],[100,200]],"islands":[]}],"ruler":[[20,20],[270,20]],"depths":[]}`

// confirmOutline measures a form, confirms what it shows, and returns the entry and the panel's words.
func confirmOutline(t *testing.T, c *client, photo string, form url.Values) (casebook.OutlineTraced, string) {
	t.Helper()
	path := page.OutlinePath(oneCase, photo)
	panel := c.post(path+"/measure", form)
	if panel.Code != http.StatusOK {
		t.Fatal(panel.Code, said(panel.Body.String()))
	}
	form.Set("seen", seen(t, panel))
	if w := c.post(path+"/confirm", form); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, said(w.Body.String()))
	}
	list := c.entries(oneCase)
	b, ok := list[len(list)-1].Body.(casebook.OutlineTraced)
	if !ok {
		t.Fatalf("%T", list[len(list)-1].Body)
	}
	return b, said(panel.Body.String())
}

// TestOutlineLimb: how far it is around the limb makes the standard error larger, is said and kept; without it the page
// says what a limb would hide.
func TestOutlineLimb(t *testing.T) {
	c, photo, form := outlined(t)
	form.Set("drawing", plainDrawn)
	flat, words := confirmOutline(t, c, photo, form)
	for _, want := range []string{"Roundness", "0.79", "Centre of the area", "150 pixels from the left", "Nobody said how round the body is here", "larger than it looks"} {
		if !strings.Contains(words, want) {
			t.Errorf("the panel does not say %q: %s", want, words)
		}
	}
	c, photo, form = outlined(t)
	form.Set("drawing", plainDrawn)
	form.Set("girth_cm", "12,5 cm")
	round, words := confirmOutline(t, c, photo, form)
	if !(round.AreaSECm2 > flat.AreaSECm2) || round.AreaCm2 != flat.AreaCm2 || round.Scale.GirthCm == nil || *round.Scale.GirthCm != 12.5 {
		t.Errorf("flat %v ± %v, around a limb %v ± %v, %v", flat.AreaCm2, flat.AreaSECm2, round.AreaCm2, round.AreaSECm2, round.Scale.GirthCm)
	}
	if !strings.Contains(words, "Around a limb of 12 cm") && !strings.Contains(words, "Around a limb of 13 cm") || strings.Contains(words, "Nobody said") {
		t.Error(words)
	}
	for _, bad := range []string{"3", "thick", "900"} {
		form.Set("girth_cm", bad)
		if w := c.post(page.OutlinePath(oneCase, photo)+"/measure", form); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "from 4 to 200") {
			t.Errorf("%q: %d %s", bad, w.Code, said(w.Body.String()))
		}
	}
}

// TestOpenEdgeInTheEntry: how far the colours leave a pulled edge open is in the standard error of the page and of what
// is written; where the nurse moved the line it is not.
func TestOpenEdgeInTheEntry(t *testing.T) {
	pulled := func(edge string) string {
		return `{"parts":[{"wound":"A","edge":` + edge + `,"islands":[],"se":0.3,"pulled":[[100,100],[200,100],[200,200],[100,200]]}],"ruler":[[20,20],[270,20]],"depths":[]}`
	}
	se := map[string]float64{}
	for name, drawing := range map[string]string{
		"drawn": plainDrawn, "pulled": pulled("[[100,100],[200,100],[200,200],[100,200]]"), "moved": pulled("[[110,90],[210,90],[210,190],[110,190]]"),
	} {
		c, photo, form := outlined(t)
		form.Set("drawing", drawing)
		b, _ := confirmOutline(t, c, photo, form)
		se[name] = b.AreaSECm2 / b.AreaCm2
	}
	if !(se["pulled"] > 0.3) || !(se["drawn"] < 0.3) || !(se["moved"] < 1.1*se["drawn"]) {
		t.Errorf("%v", se)
	}
	c, photo, form := outlined(t)
	form.Set("drawing", strings.Replace(pulled("[[100,100],[200,100],[200,200]]"), "0.3", "-2", 1))
	if w := c.post(page.OutlinePath(oneCase, photo)+"/measure", form); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a spread below nothing: %d", w.Code)
	}
}
