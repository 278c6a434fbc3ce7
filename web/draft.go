package web

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"

	"lowtide/web/page"
)

// draft is the key under which this person's half-filled forms are kept sealed on a device, and the name by which they are
// found there. It comes with a page, so only while its person is signed in; it is the same for her on every page and after
// a restart, so that she finds what she typed when she has signed in again. The next person at the device gets another one.
func (s *Server) draft(r *Request) page.Draft {
	if r.who == nil || len(s.DraftKey) == 0 {
		return page.Draft{}
	}
	of := func(use string) []byte {
		h := hmac.New(sha256.New, s.DraftKey)
		h.Write([]byte(use + "\x00" + r.who.account.ID))
		return h.Sum(nil)
	}
	return page.Draft{Key: base64.StdEncoding.EncodeToString(of("seal")), Name: hex.EncodeToString(of("name")[:8]) + ":" + r.URL.EscapedPath()}
}
