package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"net/http"

	"filippo.io/age"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/meeting"
	"lowtide/pumplog"
	"lowtide/state"
)

// The device of a nurse that was without a network asks these. Nobody is shown a page here, so every answer is JSON that
// begins with a [meeting.Word].

// desk is the server's half of a meeting.
func (s *Server) desk(r *Request) (meeting.Desk, error) {
	key, err := s.meetingKey(r.Context())
	if err != nil {
		return meeting.Desk{}, err
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return meeting.Desk{}, err
	}
	return meeting.Desk{Book: s.Caseload.Book, Key: key, Now: s.Now, CleanFile: cleanFile,
		Device: func(id string) (meeting.Registered, bool) {
			p, a := set.Phone(id)
			if p == nil {
				return meeting.Registered{}, false
			}
			return meeting.Registered{ID: p.ID, Account: a.Name, Phone: p.Label, Key: p.Key, Lost: p.State == account.PhoneLost || a.Disabled}, true
		},
		Rights: func(name string) meeting.Rights { return meetRights{s, r, set, name} },
	}, nil
}

// meetingKey is the key that opens what devices send; it is read once.
func (s *Server) meetingKey(ctx context.Context) (*age.X25519Identity, error) {
	s.meetings.Lock()
	defer s.meetings.Unlock()
	if s.meetings.key == nil {
		key, err := meeting.ServerKey(ctx, s.Caseload.Book, s.Now())
		if err != nil {
			return nil, err
		}
		s.meetings.key = key
	}
	return s.meetings.key, nil
}

// meetRights are what the owner of a device may do now. What she said of a case that is not on her list counts while she is
// signed in herself.
type meetRights struct {
	s    *Server
	r    *Request
	set  *account.Set
	name string
}

// Write implements [meeting.Rights].
func (m meetRights) Write(kind casebook.Kind) bool {
	a := m.set.Get(m.name)
	return a != nil && mayWrite(&visitor{set: m.set, account: a}, kind)
}

// Open implements [meeting.Rights].
func (m meetRights) Open(ctx context.Context, caseID string) (bool, error) {
	a := m.set.Get(m.name)
	if a == nil {
		return false, nil
	}
	c, rev, _, err := m.s.Caseload.Case(ctx, caseID, m.s.Now())
	if err != nil || c == nil {
		return c == nil && err == nil, err // a case that nobody wrote to is nobody's
	}
	v := &visitor{set: m.set, account: a}
	if own := m.r.who; own != nil && own.account.Name == m.name {
		v.session = own.session
	}
	as := *m.r
	as.who = v
	return m.s.allowed(&as, caseID, rev.Person), nil
}

// errUnfit is a file that is not kept, in words for the nurse.
type errUnfit string

func (e errUnfit) Error() string { return string(e) }

// cleanFile judges a file of a device as a form's: a photo is stripped of place, time and device again.
func cleanFile(kind casebook.Kind, content []byte) ([]byte, error) {
	switch kind {
	case casebook.KindPhotoTaken:
		clean, _, _, refused := state.CleanPhoto(content)
		if refused != nil {
			return nil, errUnfit(refused.Words)
		}
		return clean, nil
	case casebook.KindLogImported:
		if _, err := pumplog.Unpack(content); err != nil {
			return nil, errUnfit("The pump log cannot be read.")
		}
		return content, nil
	}
	return nil, errUnfit("No entry of this kind has a file.")
}

// meetIn reads a question and the word that its answer begins with. When ok is false the word is the whole answer.
func (s *Server) meetIn(r *Request, into any, hello *meeting.Hello) (d meeting.Desk, w meeting.Word, ok bool, err error) {
	if s.Accounts == nil {
		return d, w, false, errMissing
	}
	if err := readJSON(r, into); err != nil {
		return d, w, false, err
	}
	if d, err = s.desk(r); err != nil {
		return d, w, false, err
	}
	name := ""
	if r.who != nil {
		name = r.who.account.Name
	}
	w, ok = d.Word(*hello, name)
	return d, w, ok, nil
}

// meetWord tells a phone whether it was lost; nobody needs to be signed in for that.
func (s *Server) meetWord(r *Request) (Answer, error) {
	var in meeting.WordAsked
	d, _, _, err := s.meetIn(r, &in, &in.Hello)
	if err != nil {
		return nil, err
	}
	w := meeting.Word{Version: meeting.Version, Now: s.Now()}
	if dev, known := d.Device(in.Device); known {
		w.Lost = dev.Lost
	}
	return sayJSON(http.StatusOK, w)
}

// meetPhone registers a phone of the person who is signed in.
func (s *Server) meetPhone(r *Request) (Answer, error) {
	if s.Accounts == nil {
		return nil, errMissing
	}
	var in meeting.AddPhone
	if err := readJSON(r, &in); err != nil {
		return nil, err
	}
	out := meeting.Added{Word: meeting.Word{Version: meeting.Version, Now: s.Now()}}
	_, err := s.change(r, "a phone for work without a network", func(set *account.Set) (body casebook.Body, err error) {
		body, out.Device, err = set.AddPhone(r.who.account.Name, in.Label, in.Key, s.Now(), s.Random)
		return body, err
	})
	var no *account.Refused
	if errors.As(err, &no) {
		out.What, err = no.Error(), nil
	}
	if err != nil {
		return nil, err
	}
	return sayJSON(http.StatusOK, out)
}

// meetList tells a phone what is on its owner's list, and notes that it was here.
func (s *Server) meetList(r *Request) (Answer, error) {
	var in meeting.ListAsked
	d, w, ok, err := s.meetIn(r, &in, &in.Hello)
	if err != nil || !ok {
		return sayWord(w, err)
	}
	out := meeting.List{Word: w}
	rows, unknown, err := s.Caseload.Glance(r.Context(), s.Now())
	if err == nil && unknown > 0 {
		rows, _, err = s.Caseload.Rows(r.Context(), s.Now())
	}
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	mine := map[string]bool{}
	for _, row := range s.listed(r, rows) {
		if row.Failed {
			continue // what cannot be read here cannot be read there
		}
		l, err := d.Streams(r.Context(), row.Case)
		if err != nil {
			return nil, err
		}
		mine[row.Case] = true
		out.Cases = append(out.Cases, l)
	}
	for _, id := range in.Have {
		if !mine[id] {
			out.Gone = append(out.Gone, meeting.Gone{Case: id, Why: "It is not on your list any more, or it was erased."})
		}
	}
	g, err := s.ground(r)
	if err != nil {
		return nil, err
	}
	out.Ground = g.Mark
	_, err = s.Accounts.Change(r.Context(), s.Now(), r.who.account.Name, "", func(set *account.Set) ([]casebook.Body, error) {
		if b := set.MetPhone(in.Device, in.Unsent, in.Now.Sub(w.Now), s.Now()); b != nil {
			return []casebook.Body{b}, nil
		}
		return nil, nil
	})
	if err != nil && !casebook.TakesNothing(err) {
		return nil, err
	}
	return sayJSON(http.StatusOK, out)
}

// sayWord answers with a word alone, unless something went wrong.
func sayWord(w meeting.Word, err error) (Answer, error) {
	if err != nil {
		return nil, err
	}
	return sayJSON(http.StatusOK, w)
}

// meetPart gives a phone a part of a case that its owner may open.
func (s *Server) meetPart(r *Request) (Answer, error) {
	var in meeting.PartAsked
	d, w, ok, err := s.meetIn(r, &in, &in.Hello)
	if err != nil || !ok {
		return sayWord(w, err)
	}
	caseID := casebook.BroughtFor(in.Stream)
	if err := s.meetOpen(r, caseID); err != nil {
		return nil, err
	}
	part, err := d.Part(r.Context(), in.Stream, in.After)
	if err != nil {
		return nil, err
	}
	part.Word = w
	return sayJSON(http.StatusOK, part)
}

// meetOpen lets a phone read a case as a page would: when its owner may open it, and with a line in the access log.
func (s *Server) meetOpen(r *Request, caseID string) error {
	c, rev, _, err := s.Caseload.Case(r.Context(), caseID, s.Now())
	if err == nil && (c == nil || casebook.Reserved(caseID)) {
		err = errMissing
	}
	if err != nil {
		return err
	}
	why, outside, ok := s.mayOpen(r, caseID, rev.Person)
	if !ok {
		return refuse(http.StatusForbidden, "The patient is not on your list.", "Open the case at the server and say why.")
	}
	return s.note(r, accesslog.Noted{What: accesslog.Read, Case: caseID, Outside: outside, Why: why})
}

// meetPush takes what a phone sends. Whoever is signed in may send it: it says itself who wrote it, and proves it.
func (s *Server) meetPush(r *Request) (Answer, error) {
	var in meeting.Push
	d, w, _, err := s.meetIn(r, &in, &in.Hello)
	if err != nil {
		return nil, err
	}
	if w.Lost || in.Version > meeting.Version {
		return sayJSON(http.StatusOK, w)
	}
	outcomes, err := d.Take(r.Context(), in.Envelopes, in.Now.Sub(w.Now))
	if err != nil {
		return nil, err
	}
	noted := map[string]bool{}
	for _, o := range outcomes {
		if o.Kept && !noted[o.Case] {
			noted[o.Case] = true
			if err := s.note(r, accesslog.Noted{What: accesslog.Sent, Case: o.Case}); err != nil {
				return nil, err
			}
		}
	}
	return sayJSON(http.StatusOK, meeting.Pushed{Word: meeting.Word{Version: meeting.Version, Now: w.Now}, Outcomes: outcomes})
}

// meetSmall gives a phone a photo, small.
func (s *Server) meetSmall(r *Request) (Answer, error) {
	var in meeting.SmallAsked
	_, w, ok, err := s.meetIn(r, &in, &in.Hello)
	if err != nil || !ok {
		return sayWord(w, err)
	}
	if err := s.meetOpen(r, in.Case); err != nil {
		return nil, err
	}
	out := meeting.Small{Word: w}
	raw, err := s.Caseload.Book.Blob(r.Context(), in.Case, in.Name)
	if err != nil && !errors.Is(err, casebook.ErrNotFound) {
		return nil, err
	}
	if err == nil {
		if small, refused := state.SmallPhoto(raw); refused == nil {
			out.Bytes = small
		}
	}
	return sayJSON(http.StatusOK, out)
}

// meetGround gives a phone what it needs beside the cases.
func (s *Server) meetGround(r *Request) (Answer, error) {
	var in meeting.GroundAsked
	_, w, ok, err := s.meetIn(r, &in, &in.Hello)
	if err != nil || !ok {
		return sayWord(w, err)
	}
	g, err := s.ground(r)
	if err != nil {
		return nil, err
	}
	g.Word = w
	return sayJSON(http.StatusOK, g)
}

func (s *Server) ground(r *Request) (meeting.Ground, error) {
	key, err := s.meetingKey(r.Context())
	if err != nil {
		return meeting.Ground{}, err
	}
	a := r.who.account
	g := meeting.Ground{Account: a.Name, Shown: a.Shown, Teams: a.Teams, UnlockedH: r.who.set.UnlockedHours(), To: key.Recipient().String(), Zone: s.zone().String(), Files: s.Files}
	for _, role := range a.Roles {
		g.Roles = append(g.Roles, string(role))
	}
	h := sha256.New()
	if err := json.NewEncoder(h).Encode(g); err != nil {
		return g, err
	}
	g.Mark = hex.EncodeToString(h.Sum(nil)[:8])
	return g, nil
}
