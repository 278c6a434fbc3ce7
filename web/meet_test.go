package web_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"filippo.io/age"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/meeting"
)

// bedside is a phone that asks the ward's server through its handlers.
type bedside struct {
	*meeting.Device
	wd *ward
}

// errStatus is an answer that is no JSON of a meeting.
type errStatus int

func (e errStatus) Error() string { return fmt.Sprintf("status %d", int(e)) }

// Ask implements [meeting.Line].
func (b bedside) Ask(_ context.Context, path string, in, out any) error {
	raw, err := json.Marshal(in)
	if err != nil {
		return err
	}
	r := httptest.NewRequest("POST", "http://127.0.0.1"+path, bytes.NewReader(raw))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	w := b.wd.ask(r)
	if w.Code != http.StatusOK {
		return errStatus(w.Code)
	}
	return json.Unmarshal(w.Body.Bytes(), out)
}

// newPhone sets up a phone for whoever is signed in.
func newPhone(t *testing.T, wd *ward, name string) bedside {
	t.Helper()
	_, key, err := ed25519.GenerateKey(rand.NewChaCha8([32]byte{9}))
	if err != nil {
		t.Fatal(err)
	}
	self, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	b := bedside{&meeting.Device{Account: name, Key: key, Self: self, Random: rand.NewChaCha8([32]byte{8}), SmallSince: wd.now.AddDate(0, 0, -14)}, wd}
	var added meeting.Added
	if err := b.Ask(t.Context(), meeting.PathPhone, meeting.AddPhone{Label: "my phone", Key: key.Public().(ed25519.PublicKey)}, &added); err != nil || added.Device == "" {
		t.Fatalf("%+v, %v", added, err)
	}
	b.Outbox = meeting.Outbox{ID: added.Device, Shelf: memory.New(), Line: b, Clock: func() time.Time { return wd.now }, SelfTo: self.Recipient()}
	var g meeting.Ground
	if err := b.Ask(t.Context(), meeting.PathGround, meeting.GroundAsked{Hello: meeting.Hello{Version: meeting.Version, Device: b.ID, Now: wd.now}}, &g); err != nil {
		t.Fatal(err)
	}
	if g.Account != name || g.UnlockedH != account.UnlockedUsual || g.Mark == "" {
		t.Errorf("the ground: %+v", g)
	}
	if b.To, err = age.ParseX25519Recipient(g.To); err != nil {
		t.Fatal(err)
	}
	return b
}

func entriesIn(t *testing.T, book casebook.Book, caseID string) []casebook.Entry {
	t.Helper()
	list, _, err := book.Entries(t.Context(), caseID)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// TestMeet: a phone gets the cases of its owner's list and no others; what is written on it reaches the server with its
// author, its mark and its photo; the access log has a line for each.
func TestMeet(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	p := newPhone(t, wd, "n.east")
	if _, err := p.Meet(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got, want := len(entriesIn(t, p.Book(), oneCase)), len(wd.entries(oneCase)); got != want || got == 0 {
		t.Errorf("the phone has %d entries of the case, not %d", got, want)
	}
	if n := len(entriesIn(t, p.Book(), otherCase)); n != 0 {
		t.Errorf("the phone has %d entries of a patient who is on nobody's list here", n)
	}
	// A day later, without a network: a note and a photo. She is signed out meanwhile.
	wd.now = wd.now.Add(20 * time.Hour)
	book := p.Book()
	var photo bytes.Buffer
	if err := jpeg.Encode(&photo, image.NewGray(image.Rect(0, 0, 1200, 900)), nil); err != nil {
		t.Fatal(err)
	}
	hash, err := book.PutBlob(t.Context(), oneCase, photo.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	_, head, err := book.Entries(t.Context(), oneCase)
	if err != nil {
		t.Fatal(err)
	}
	make := func(id string, b casebook.Body, blobs ...string) casebook.Entry {
		at := wd.now.Add(-time.Minute).Truncate(time.Millisecond)
		return casebook.Entry{ID: id, Case: oneCase, Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: at, Recorded: at, Author: "n.east", Body: b, Blobs: blobs}
	}
	note := make("019cb300-0000-7000-8000-000000000001", casebook.NoteWritten{Text: "written in the cellar"})
	taken := make("019cb300-0000-7000-8000-000000000002", casebook.PhotoTaken{Wound: "A", WidthPx: 1200, HeightPx: 900}, hash)
	if _, err := book.Append(t.Context(), head, note, taken); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Meet(t.Context()); err != errStatus(http.StatusUnauthorized) {
		t.Errorf("nobody is signed in, and the phone is told: %v", err)
	}
	wd.signIn("n.east")
	if _, err := p.Meet(t.Context()); err != nil {
		t.Fatal(err)
	}
	waits, err := p.Waiting(t.Context())
	if err != nil || len(waits) != 0 {
		t.Fatalf("waits: %+v, %v", waits, err)
	}
	list := wd.entries(oneCase)
	c := casebook.Fold(oneCase, list)
	l := c.Line(note.ID)
	if l == nil || l.Entry.Author != "n.east" || l.Entry.Came == nil || l.Entry.Came.Phone != "my phone" || l.Entry.Came.Claimed() {
		t.Fatalf("the note came as %+v", l)
	}
	if _, err := wd.book.Blob(t.Context(), oneCase, hash); err != nil {
		t.Errorf("the photo: %v", err)
	}
	// Another phone of hers gets the photo small.
	other := newPhone(t, wd, "n.east")
	if _, err := other.Meet(t.Context()); err != nil {
		t.Fatal(err)
	}
	raw, err := other.Book().Blob(t.Context(), oneCase, hash)
	if err != nil {
		t.Fatal(err)
	}
	if cfg, err := jpeg.DecodeConfig(bytes.NewReader(raw)); err != nil || cfg.Width != 800 || cfg.Height != 600 {
		t.Errorf("the photo there is %d by %d px, %v", cfg.Width, cfg.Height, err)
	}
	lines, _, err := wd.log.Find(t.Context(), accesslog.Query{Case: oneCase, Account: "n.east"})
	if err != nil || len(lines) < 3 {
		t.Errorf("%d lines in the access log, %v", len(lines), err)
	}
	// The case of the other team is not given to her, whatever her phone asks for.
	var part meeting.Part
	hello := meeting.Hello{Version: meeting.Version, Device: p.ID, Now: wd.now}
	for _, stream := range []string{otherCase, casebook.BroughtTo(otherCase), casebook.Accounts, casebook.Ledger, "~meeting", "nothing"} {
		if err := p.Ask(t.Context(), meeting.PathPart, meeting.PartAsked{Hello: hello, Stream: stream}, &part); err == nil {
			t.Errorf("%s was given", stream)
		}
	}
	// Nor her own cases to somebody else on her phone.
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.west")
	if err := p.Ask(t.Context(), meeting.PathPart, meeting.PartAsked{Hello: hello, Stream: oneCase}, &part); err != nil || part.What == "" || len(part.Records) != 0 {
		t.Errorf("another nurse on her phone: %+v, %v", part, err)
	}
}

// TestMeetSentByAnother: what waits on a phone can be sent by whoever is signed in there, in its author's name, because the
// phone signed it.
func TestMeetSentByAnother(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	p := newPhone(t, wd, "n.east")
	if _, err := p.Meet(t.Context()); err != nil {
		t.Fatal(err)
	}
	_, head, err := p.Book().Entries(t.Context(), oneCase)
	if err != nil {
		t.Fatal(err)
	}
	at := wd.now.Add(-time.Minute)
	b := casebook.NoteWritten{Text: "hers"}
	if _, err := p.Book().Append(t.Context(), head, casebook.Entry{ID: "019cb300-0000-7000-8000-000000000009", Case: oneCase, Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: "n.east", Body: b}); err != nil {
		t.Fatal(err)
	}
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.west")
	if err := p.Send(t.Context()); err != nil {
		t.Fatal(err)
	}
	list := wd.entries(oneCase)
	if last := list[len(list)-1]; last.Author != "n.east" || last.Came == nil {
		t.Errorf("%+v", last)
	}
}

// TestMeetWord: anybody may ask whether a phone was lost, and learns nothing else; a phone that was lost, or whose owner's
// account was closed, is told so, and nothing of it is taken.
func TestMeetWord(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	p := newPhone(t, wd, "n.east")
	if _, err := p.Meet(t.Context()); err != nil {
		t.Fatal(err)
	}
	set, err := wd.dir.Set(t.Context(), wd.now)
	if err != nil {
		t.Fatal(err)
	}
	if ph, _ := set.Phone(p.ID); ph == nil || ph.Met.IsZero() {
		t.Errorf("the server does not know when it met the phone: %+v", ph)
	}
	wd.jar = map[string]*http.Cookie{}
	ask := func(id string) (w meeting.Word) {
		t.Helper()
		if err := p.Ask(t.Context(), meeting.PathWord, meeting.WordAsked{Hello: meeting.Hello{Version: meeting.Version, Device: id, Now: wd.now}}, &w); err != nil {
			t.Fatal(err)
		}
		return w
	}
	if w, none := ask(p.ID), ask("no such phone"); w.Lost || w != none || w.What != "" {
		t.Errorf("a word to a phone %+v, and to none %+v", w, none)
	}
	wd.signIn("an.east")
	path := "/account/n.east/phone"
	if w := wd.post(path, map[string][]string{"phone": {p.ID}, "state": {account.PhoneLost}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("lost without a reason: %d", w.Code)
	}
	if w := wd.post(path, map[string][]string{"phone": {p.ID}, "state": {account.PhoneLost}, "why": {"left in a bus"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("lost: %d %s", w.Code, said(w.Body.String()))
	}
	wd.now = wd.now.Add(10 * time.Second)
	wd.jar = map[string]*http.Cookie{}
	if !ask(p.ID).Lost {
		t.Error("the phone is not told that it was lost")
	}
	wd.signIn("n.east")
	if _, err := p.Meet(t.Context()); err != meeting.ErrLost {
		t.Errorf("a lost phone meets: %v", err)
	}
}
