package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/stock"
	"lowtide/web/page"
)

// loaded is a nurse whose car holds two kits of a lot and a canister of another.
func loaded(t *testing.T) *client {
	t.Helper()
	wd := newClient(t)
	patients(wd)
	for _, f := range []url.Values{
		{"item": {"foam kit 1"}, "count": {"2"}, "from": {"outside"}, "to": {"car N. Test"}, "lot": {"K-7"}, "expires": {"2027-01-31"}},
		{"item": {"canister 300"}, "count": {"1"}, "from": {"outside"}, "to": {"car N. Test"}, "lot": {"C-2"}},
	} {
		if w := wd.post("/stores/moved", f); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code, said(w.Body.String()))
		}
	}
	return wd
}

// inCar is how many pieces of a lot lie in the nurse's car.
func inCar(t *testing.T, wd *client, lot string) int {
	t.Helper()
	st, err := wd.srv.Caseload.Stores(t.Context(), wd.now, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, l := range st.Stock.Lots {
		if l.Lot == lot && l.Place == stock.Car("N. Test") {
			n += l.Count
		}
	}
	return n
}

// TestVisitUses: a tick in the visit writes the lot, takes it from the car once, and the look-up finds the patient.
func TestVisitUses(t *testing.T) {
	wd := loaded(t)
	f := wd.open(page.CasePath(oneCase, "visit"))
	k := f.controls[page.UsedField]
	if k == nil || len(k.values) != 2 {
		t.Fatalf("the visit does not offer the lots of the car: %+v", k)
	}
	kit := k.values[0]
	if !strings.Contains(kit, "K-7") {
		kit = k.values[1]
	}
	f.values.Set("wounds/0/none_out", "on")
	f.values.Set("wounds/0/in/0/count", "1")
	f.values.Set("wounds/0/in/0/filler?", "foam")
	f.values[page.UsedField] = []string{kit}
	f.values.Set("at", wd.now.Add(-time.Minute).Format("2006-01-02T15:04"))
	wd.send(f)
	wd.send(f) // the same form again writes nothing more
	list := wd.entries(oneCase)
	d, ok := list[len(list)-1].Body.(casebook.DressingChanged)
	if !ok || len(d.Used) != 1 || d.Used[0] != (casebook.SupplyUsed{Item: d.Used[0].Item, Count: 1, From: "car", Lot: "K-7", Expires: "2027-01-31"}) {
		t.Fatalf("%+v", d.Used)
	}
	if n := inCar(t, wd, "K-7"); n != 1 {
		t.Errorf("%d in the car, want 1", n)
	}
	if body := wd.get("/stores/lot?lot=k-7").Body.String(); !strings.Contains(body, "Ann Case") {
		t.Error("the look-up does not find the patient from the visit")
	}
	if body := wd.get("/bag").Body.String(); !strings.Contains(body, "Used <bdi>1 ×") || strings.Contains(body, "Write it into the visit") {
		t.Error("the bag does not say what the visit used, or asks again")
	}
	if w := wd.post("/stores/recalled", url.Values{"lot": {"K-7"}, "by": {"the maker"}}); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	if body := wd.get(page.CasePath(oneCase) + "?part=why").Body.String(); !strings.Contains(body, "STO-RECALL-01") {
		t.Error("the recall does not show in the case whose dressing holds the lot")
	}
	if f := wd.open(page.CasePath(oneCase, "visit")); f.controls[page.UsedField] == nil || len(f.controls[page.UsedField].values) != 1 {
		t.Error("a recalled lot is still offered")
	}
}

// TestVisitUsesOnce: a visit that does not say what it used is asked on the bag's page; one step writes it, and a second
// one is refused.
func TestVisitUsesOnce(t *testing.T) {
	wd := loaded(t)
	f := wd.open(page.CasePath(oneCase, "visit"))
	f.values.Set("wounds/0/none_out", "on")
	f.values.Set("wounds/0/in/0/count", "1")
	f.values.Set("wounds/0/in/0/filler?", "foam")
	f.values.Set("at", wd.now.Add(-time.Minute).Format("2006-01-02T15:04"))
	wd.send(f)
	list := wd.entries(oneCase)
	visit := list[len(list)-1].ID
	if n := inCar(t, wd, "K-7"); n != 2 {
		t.Fatalf("%d in the car before anybody said that one was used", n)
	}
	body := wd.get("/bag").Body.String()
	if !strings.Contains(body, "Write it into the visit") || !strings.Contains(body, "moves no stock") && strings.Contains(body, "Tick what is in the bag") {
		t.Fatal(said(body))
	}
	path := page.CasePath(oneCase, "visit", visit, "used")
	nothing := url.Values{page.UsedField + "/0": {""}}
	if w := wd.post(path, nothing); w.Code != http.StatusSeeOther || len(wd.entries(oneCase)) != len(list) {
		t.Errorf("nothing was chosen: %d, %d entries", w.Code, len(wd.entries(oneCase)))
	}
	choice := url.Values{page.UsedField + "/0": {page.LotValue(stock.Lot{Item: "foam kit 1", Lot: "K-7", Place: stock.Car("N. Test")})}}
	if w := wd.post(path, choice); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, said(w.Body.String()))
	}
	if n := inCar(t, wd, "K-7"); n != 1 {
		t.Errorf("%d in the car, want 1", n)
	}
	if w := wd.post(path, choice); w.Code != http.StatusConflict {
		t.Errorf("a second time: %d", w.Code)
	}
	if n := inCar(t, wd, "K-7"); n != 1 {
		t.Errorf("%d in the car after the second time, want 1", n)
	}
	if w := wd.post(path, url.Values{page.UsedField + "/0": {"item=moon&from=car"}}); w.Code != http.StatusConflict {
		t.Errorf("an item that is none: %d", w.Code)
	}
}
