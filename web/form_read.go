package web

import (
	"bytes"
	"crypto/sha256"
	"net/url"
	"strconv"
	"strings"
	"time"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
)

// newFormKey makes the hidden key of a form: the time, which becomes part of the entries' IDs, and randomness.
func (s *Server) newFormKey(now time.Time) (string, error) {
	key, err := account.NewKey(s.Random)
	return strconv.FormatInt(now.UnixMilli(), 36) + "." + key, err
}

// entryID derives the nth ID from a form's key: the same form sent twice gives the same IDs, so that its entries are
// kept once. ok is false when the key is not one that a form can have.
func entryID(key string, n int) (id string, ok bool) {
	ms, rest, found := strings.Cut(key, ".")
	at, err := strconv.ParseInt(ms, 36, 64)
	if !found || err != nil || at <= 0 || at >= 1<<48 || len(rest) < 16 || len(key) > 100 {
		return "", false
	}
	return shapedID(time.UnixMilli(at), key+"|"+strconv.Itoa(n)), true
}

// shapedID is a UUIDv7 whose random part comes from a hash of the seed.
func shapedID(at time.Time, seed string) string {
	sum := sha256.Sum256([]byte(seed))
	id, err := casebook.NewID(at, bytes.NewReader(sum[:]))
	if err != nil {
		panic("web: " + err.Error()) // 32 bytes are enough
	}
	return id
}

// keyProblem is what a form without a good key gets; it is shown again with a new one.
var keyProblem = intake.Problem{Code: intake.CodeFormat, Message: "The form's own mark is missing or damaged.", Remedy: "Look through the fields and send the form again."}

// caseFrame is the frame of a page of one case.
func (s *Server) caseFrame(r *Request, o opened, title string) page.Frame {
	f := s.frame(r, title, "")
	f.Case, f.Person = o.c.ID, o.rev.Person.Name
	return f
}

// formInput is what a form of the case is drawn from. A key that is not good is replaced.
func (s *Server) formInput(o opened, form url.Values, ps intake.Problems) (page.FormInput, error) {
	in := page.FormInput{Typed: page.Typed{Values: form, Problems: ps, More: form.Get("-more")}, Case: o.c, Review: o.rev, Equipment: s.Equipment, Rules: s.Rules, Clock: o.clock, Key: form.Get("-key")}
	if _, ok := entryID(in.Key, 0); !ok {
		key, err := s.newFormKey(o.now)
		if err != nil {
			return in, err
		}
		in.Key = key
	}
	return in, nil
}
