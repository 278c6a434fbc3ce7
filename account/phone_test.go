package account

import (
	"bytes"
	"crypto/ed25519"
	"errors"
	"testing"
	"time"

	"lowtide/casebook"
)

func TestPhones(t *testing.T) {
	d := directory(t)
	create(t, d, "n.east", Nurse)
	key := bytes.Repeat([]byte{7}, ed25519.PublicKeySize)
	var id string
	s := change(t, d, "n.east", func(s *Set) (casebook.Body, error) {
		b, made, err := s.AddPhone("n.east", "  my   phone ", key, noon, bytes.NewReader(make([]byte, 16)))
		id = made
		return b, err
	})
	p, a := s.Phone(id)
	if p == nil || a.Name != "n.east" || p.Label != "my phone" || p.State != PhoneInUse || !p.Met.IsZero() {
		t.Fatalf("%+v of %+v", p, a)
	}
	for _, c := range []struct {
		name, label string
		key         []byte
	}{{"n.east", "", key}, {"n.east", "x", nil}, {"nobody", "x", key}} {
		var no *Refused
		if _, _, err := s.AddPhone(c.name, c.label, c.key, noon, bytes.NewReader(make([]byte, 16))); !errors.As(err, &no) {
			t.Errorf("%+v: %v", c, err)
		}
	}
	s = change(t, d, "n.east", func(s *Set) (casebook.Body, error) { return s.MetPhone(id, 3, 61*time.Second, noon), nil })
	if p, _ := s.Phone(id); p.Unsent != 3 || p.Ahead != 61*time.Second || p.Met.IsZero() {
		t.Errorf("met: %+v", p)
	}
	if p, _ := s.Phone(id); s.MetPhone(id, 3, time.Minute, p.Met.Add(time.Minute)) != nil || s.MetPhone(id, 2, time.Minute, p.Met) == nil || s.MetPhone(id, 3, time.Minute, p.Met.Add(2*time.Hour)) == nil {
		t.Error("a meeting is noted when nothing changed, or not when something did")
	}
	if _, err := s.SetPhone("admin", id, PhoneLost, "left in a bus"); err == nil {
		t.Error("another account's phone was set lost under a wrong name")
	}
	if _, err := s.SetPhone("n.east", id, PhoneLost, " "); err == nil {
		t.Error("lost without a reason")
	}
	s = change(t, d, "admin", func(s *Set) (casebook.Body, error) { return s.SetPhone("n.east", id, PhoneLost, "left in a bus") })
	if p, _ := s.Phone(id); p.State != PhoneLost {
		t.Errorf("lost: %+v", p)
	}
	s = change(t, d, "n.east", func(s *Set) (casebook.Body, error) { return s.SetPhone("n.east", id, PhoneFreed, "") })
	if p, a := s.Phone(id); p == nil || len(a.PhonesInUse()) != 0 {
		t.Errorf("freed: %+v", p)
	}
	if s.UnlockedHours() != UnlockedUsual {
		t.Errorf("%d hours", s.UnlockedHours())
	}
	if _, err := s.SetPhoneRules(25); err == nil {
		t.Error("25 hours")
	}
	s = change(t, d, "admin", func(s *Set) (casebook.Body, error) { return s.SetPhoneRules(4) })
	if s.UnlockedHours() != 4 {
		t.Errorf("%d hours", s.UnlockedHours())
	}
}
