package web_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
)

// TestPacked: Rounds goes out compressed to our own pages, and plain to everybody who asks from
// elsewhere or does not say, so that its length tells a stranger nothing.
func TestPacked(t *testing.T) {
	c := newClient(t)
	patients(c)
	for _, x := range []struct {
		takes, site string
		packed      bool
	}{{"gzip, deflate, br", "same-origin", true}, {"gzip", "none", false}, {"gzip", "cross-site", false}, {"gzip", "same-site", false}, {"gzip", "", false}, {"br", "same-origin", false}, {"gzip;q=0", "same-origin", false}} {
		r := httptest.NewRequest("GET", "http://localhost/", nil)
		r.Header.Set("Accept-Encoding", x.takes)
		if x.site != "" {
			r.Header.Set("Sec-Fetch-Site", x.site)
		}
		w := c.do(r)
		if got := w.Header().Get("Content-Encoding") == "gzip"; got != x.packed || w.Code != http.StatusOK {
			t.Errorf("%v: packed %v, %d", x, got, w.Code)
		}
		if !x.packed {
			continue
		}
		z, err := gzip.NewReader(w.Body)
		if err != nil {
			t.Fatal(err)
		}
		raw, err := io.ReadAll(z)
		if err != nil || len(raw) < 1000 {
			t.Errorf("%d bytes, %v", len(raw), err)
		}
	}
}
