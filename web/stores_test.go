package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/stock"
	"lowtide/web/page"
)

func storeEntries(t *testing.T, c *client) []casebook.Entry {
	t.Helper()
	list, _, err := casebook.Register{Book: c.book, ID: stock.Register}.Entries(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// TestStoresForms: each form writes its entry; one with mistakes writes nothing and names every mistake.
func TestStoresForms(t *testing.T) {
	wd := staffed(t)
	wd.signIn("stores")
	for _, x := range []struct {
		path string
		form url.Values
		want casebook.Body
	}{
		{"/stores/moved", url.Values{"item": {"foam kit 1"}, "count": {"12"}, "from": {"outside"}, "to": {"shelf"}, "lot": {"F-1"}, "expires": {"2027-01-31"}}, stock.Moved{Item: "foam kit 1", Count: 12, From: stock.Outside, To: stock.Shelf, Lot: "F-1", Expires: "2027-01-31"}},
		{"/stores/counted", url.Values{"item": {"foam kit 1"}, "count": {"0"}, "place": {"car stores"}}, stock.Counted{Item: "foam kit 1", Place: "car stores"}},
		{"/stores/recalled", url.Values{"lot": {"F-1"}, "by": {"the maker"}}, stock.Recalled{Lot: "F-1", By: "the maker"}},
		{"/stores/planned", url.Values{"lead_d": {"2,5"}, "lead_sd_d": {"0"}, "service_pct": {"95"}}, stock.Planned{LeadDays: 2.5, ServicePct: 95}},
	} {
		n := len(storeEntries(t, wd.client))
		if w := wd.post(x.path, x.form); w.Code != http.StatusSeeOther {
			t.Fatalf("%s: %d %s", x.path, w.Code, said(w.Body.String()))
		}
		list := storeEntries(t, wd.client)
		if len(list) != n+1 || list[n].Body != x.want || list[n].Author != "stores" {
			t.Errorf("%s: %+v", x.path, list[n:])
		}
		bad := url.Values{"item": {"a wish"}, "count": {"-1"}, "from": {"moon"}, "to": {"moon"}, "place": {"moon"}, "expires": {"2027-02-30"}, "lead_d": {"x"}, "lead_sd_d": {"-1"}, "service_pct": {"100"}}
		w := wd.post(x.path, bad)
		if w.Code != http.StatusUnprocessableEntity || len(storeEntries(t, wd.client)) != n+1 || strings.Count(w.Body.String(), "<li><span>") < 2 {
			t.Errorf("%s with mistakes: %d", x.path, w.Code)
		}
	}
	body := wd.get("/").Body.String()
	if !strings.Contains(body, "<h1>Stores</h1>") || !strings.Contains(body, "F-1") || !strings.Contains(body, "recalled") {
		t.Error("the home page of the stores role is not Stores, or does not show what was written")
	}
}

// TestStoresHoldNoCase: what a nurse typed into a case comes to the Stores page only as an item of the list with its
// number and lot; names, notes and items in free text do not.
func TestStoresHoldNoCase(t *testing.T) {
	wd := staffed(t)
	wd.add(oneCase, day, casebook.SupplyMoved{Item: "the slippers of Ann Case", Count: 1, Lot: "S-1", From: "shelf", Note: "Ann Case bleeds"})
	wd.add(oneCase, day, casebook.SupplyMoved{Item: "Foam kit 1", Count: 2, Lot: "F-9", From: "shelf", Note: "Ann Case bleeds"})
	wd.signIn("stores")
	body := wd.get("/stores").Body.String()
	for _, no := range []string{"Ann", "slippers", "bleeds", "S-1", oneCase} {
		if strings.Contains(body, no) {
			t.Errorf("Stores shows %q", no)
		}
	}
	if !strings.Contains(body, "F-9") {
		t.Error("Stores does not show the lot that was taken from the shelf")
	}
}

// TestWhoGotALot: a nurse finds her own patients by name, and the number of the others.
func TestWhoGotALot(t *testing.T) {
	wd := staffed(t)
	wd.add(oneCase, day, casebook.SupplyMoved{Item: "foam kit 1", Count: 1, Lot: "f-9"})
	wd.add(otherCase, day, casebook.SupplyMoved{Item: "foam kit 1", Count: 1, Lot: "F-9"})
	wd.signIn("n.east")
	body := wd.get("/stores/lot?lot=F-9").Body.String()
	if !strings.Contains(body, "Ann Case") || strings.Contains(body, "Bea Other") || !strings.Contains(body, "1 more, not on your list") {
		t.Error(said(body))
	}
	// The recall reaches the case.
	if w := wd.post("/stores/recalled", url.Values{"lot": {"F-9"}, "by": {"the maker"}}); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	if body := wd.get(page.CasePath(oneCase)).Body.String(); !strings.Contains(body, "STO-RECALL-01") {
		t.Error("the recall does not show in the case")
	}
}

// TestBagIsKept: ticks are kept by person and day; another day's form is refused.
func TestBagIsKept(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	today := wd.now.Format("2006-01-02")
	for _, packed := range [][]string{{"drape", "foam kit 1"}, {"drape"}, {"drape"}} {
		if w := wd.post("/bag", url.Values{"day": {today}, "packed": packed}); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code, said(w.Body.String()))
		}
	}
	st := stock.Fold(storeEntries(t, wd.client), nil)
	if !st.Packed("n.east", today, "drape") || st.Packed("n.east", today, "foam kit 1") || len(storeEntries(t, wd.client)) != 3 {
		t.Error("the ticks are wrong, or one was written that did not change")
	}
	if w := wd.post("/bag", url.Values{"day": {"2020-01-01"}, "packed": {"drape"}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("another day: %d", w.Code)
	}
}
