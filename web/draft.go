package web

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"io"

	"lowtide/web/page"
)

// draft is the key under which this person's half-filled forms are kept sealed on a device, and the name by which they are
// found there. It comes with a page, so only while its person is signed in; it is the same for her on every page as long as
// the server runs. The next person at the device gets another one.
func (s *Server) draft(r *Request) page.Draft {
	if r.who == nil {
		return page.Draft{}
	}
	s.doors.mu.Lock()
	if s.doors.drafts == nil {
		key := make([]byte, sha256.Size)
		if _, err := io.ReadFull(s.Random, key); err != nil {
			s.doors.mu.Unlock()
			return page.Draft{} // without a key nothing is kept
		}
		s.doors.drafts = key
	}
	key := s.doors.drafts
	s.doors.mu.Unlock()
	of := func(use string) []byte {
		h := hmac.New(sha256.New, key)
		h.Write([]byte(use + "\x00" + r.who.account.ID))
		return h.Sum(nil)
	}
	return page.Draft{Key: base64.StdEncoding.EncodeToString(of("seal")), Name: hex.EncodeToString(of("name")[:8]) + ":" + r.URL.EscapedPath()}
}
