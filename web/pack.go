package web

import (
	"compress/gzip"
	"net/http"
	"strings"
	"sync"
)

// packers are writers that are used again: each holds some hundred kilobytes.
var packers = sync.Pool{New: func() any { return gzip.NewWriter(nil) }}

// packLeast is the shortest answer that is worth packing, in bytes.
const packLeast = 1000

// mayPack tells whether an answer may be compressed for a request. The length of a compressed page tells what is in it to
// whoever can choose a part of the page and see the length (BREACH). So a page is packed only when a page of our own
// asked for it: a stranger can choose nothing in it. A link from a message, and a browser that does not say who asks, get
// it plain.
func mayPack(r *http.Request) bool {
	return takesGzip(r) && r.Header.Get("Sec-Fetch-Site") == "same-origin"
}

// takesGzip tells whether the browser takes gzip.
func takesGzip(r *http.Request) bool {
	for _, one := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(one), ";")
		if name == "gzip" && strings.ReplaceAll(q, " ", "") != "q=0" {
			return true
		}
	}
	return false
}

// pack writes raw compressed; the header must not have gone out yet.
func pack(w http.ResponseWriter, status int, raw []byte) {
	h := w.Header()
	h.Set("Content-Encoding", "gzip")
	h.Add("Vary", "Accept-Encoding, Sec-Fetch-Site")
	w.WriteHeader(status)
	z := packers.Get().(*gzip.Writer)
	defer packers.Put(z)
	z.Reset(w)
	_, _ = z.Write(raw) // nothing can be said any more when this fails
	_ = z.Close()
}
