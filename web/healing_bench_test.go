package web_test

import (
	"net/http"
	"testing"

	"lowtide/web/page"
)

// Budget: a page's HTML under 20 ms at the server, with the fit kept from the review.
func BenchmarkWoundPage(b *testing.B) {
	benchPage(b, page.WoundPath(oneCase, "A"))
}

func BenchmarkDecisionPage(b *testing.B) {
	benchPage(b, page.CasePath(oneCase, "decision"))
}

func benchPage(b *testing.B, path string) {
	c := newClient(b)
	sized(c, 0.93)
	size := 0
	for b.Loop() {
		w := c.get(path)
		if size = w.Body.Len(); w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
	b.ReportMetric(float64(size)/1000, "kB")
}
