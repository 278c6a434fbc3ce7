package account

import (
	"crypto/rand"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
)

func directory(t *testing.T) *Directory {
	t.Helper()
	return NewDirectory(casebook.Book{Store: memory.New()}, rand.Reader)
}

// change applies one planned body and fails the test when it is refused.
func change(t *testing.T, d *Directory, by string, plan func(*Set) (casebook.Body, error)) *Set {
	t.Helper()
	set, err := d.Change(t.Context(), noon, by, "", func(s *Set) ([]casebook.Body, error) {
		b, err := plan(s)
		return []casebook.Body{b}, err
	})
	if err != nil {
		t.Fatal(err)
	}
	return set
}

func create(t *testing.T, d *Directory, name string, roles ...Role) *Set {
	t.Helper()
	return change(t, d, "setup", func(s *Set) (casebook.Body, error) { return s.Create(name, "Person "+name, roles, []string{"east"}) })
}

func TestCreate(t *testing.T) {
	d := directory(t)
	s := create(t, d, "m.holt", Nurse, Admin)
	a := s.Get("m.holt")
	if a == nil || !a.Is(Admin) || !a.Is(Reader, Nurse) || a.Is(Stores) || a.ID == "" || a.Shown != "Person m.holt" || !slices.Equal(a.Teams, []string{"east"}) {
		t.Fatalf("%+v", a)
	}
	for _, c := range []struct {
		name, shown string
		roles       []Role
		field       string
	}{{"M.Holt ", "X", []Role{Nurse}, "name"}, {"x", "X", []Role{Nurse}, "name"}, {"-xy", "X", []Role{Nurse}, "name"}, {"m holt", "X", []Role{Nurse}, "name"}, {"mára", "X", []Role{Nurse}, "name"}, {strings.Repeat("x", 41), "X", []Role{Nurse}, "name"},
		{"j.okafor", " ", []Role{Nurse}, "shown"}, {"j.okafor", "X", nil, "roles"}, {"j.okafor", "X", []Role{Nurse, "root"}, "roles"}} {
		var r *Refused
		if _, err := s.Create(c.name, c.shown, c.roles, nil); !errors.As(err, &r) || r.Field != c.field {
			t.Errorf("%q %q %v: %v", c.name, c.shown, c.roles, err)
		}
	}
}

func TestLastAdminStays(t *testing.T) {
	d := directory(t)
	create(t, d, "a1", Admin)
	s := create(t, d, "n1", Nurse)
	for name, try := range map[string]func() (casebook.Body, error){
		"disable": func() (casebook.Body, error) { return s.Disable("a1", true, "left") },
		"demote":  func() (casebook.Body, error) { return s.SetRoles("a1", "a1", "A", []Role{Nurse}, nil) },
	} {
		var r *Refused
		if _, err := try(); !errors.As(err, &r) || !strings.Contains(r.What, "only administrator") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := s.SetRoles("a1", "a1", "A", []Role{Admin, Nurse}, nil); err != nil {
		t.Errorf("the only administrator may make herself nurse: %v", err)
	}
	s = create(t, d, "a2", Admin)
	if _, err := s.SetRoles("a1", "a1", "A", []Role{Admin, Nurse}, nil); err == nil {
		t.Error("she changed her own roles beside another administrator")
	}
	if _, err := s.SetRoles("a2", "a1", "A", []Role{Nurse}, nil); err != nil {
		t.Error(err)
	}
	s = change(t, d, "a2", func(s *Set) (casebook.Body, error) { return s.Disable("a1", true, "left") })
	if s.Get("a1").Is(Admin) {
		t.Error("a disabled account has a role")
	}
	if _, err := s.Disable("n1", true, " "); err == nil {
		t.Error("disabled without a reason")
	}
}

func TestLinks(t *testing.T) {
	d := directory(t)
	create(t, d, "m.holt", Nurse)
	var key string
	s := change(t, d, "a", func(s *Set) (casebook.Body, error) {
		b, k, err := s.MakeLink("m.holt", noon, rand.Reader)
		key = k
		return b, err
	})
	hash := HashKey(key)
	for at, want := range map[time.Time]bool{noon: true, noon.Add(23 * time.Hour): true, noon.Add(24 * time.Hour): false, noon.AddDate(-1, 0, 0): false} {
		if got := s.ByLink(hash, at) != nil; got != want {
			t.Errorf("at %v: %v", at, got)
		}
	}
	if s.ByLink(HashKey("x"), noon) != nil {
		t.Error("another key opens")
	}
	epoch := s.Get("m.holt").Epoch
	s = change(t, d, "m.holt", func(*Set) (casebook.Body, error) { return PasswordSet{"m.holt", "h", hash}, nil })
	if s.ByLink(hash, noon) != nil || s.Get("m.holt").Epoch == epoch || s.Get("m.holt").Hash != "h" {
		t.Errorf("after use: %+v", s.Get("m.holt"))
	}
}

// TestClockSetBack: what is written later counts, whatever the clock says: nobody comes back to life.
func TestClockSetBack(t *testing.T) {
	d := directory(t)
	create(t, d, "a1", Admin)
	create(t, d, "m.holt", Nurse)
	if _, err := d.Change(t.Context(), noon.AddDate(-1, 0, 0), "a1", "left", func(s *Set) ([]casebook.Body, error) {
		b, err := s.Disable("m.holt", true, "left")
		return []casebook.Body{b}, err
	}); err != nil {
		t.Fatal(err)
	}
	s, err := d.Set(t.Context(), noon)
	if err != nil || !s.Get("m.holt").Disabled {
		t.Errorf("disabled a year before it was made: %v, %v", s.Get("m.holt"), err)
	}
}

// TestTwoDirectories: a change by another process is seen within five seconds, and never overwritten.
func TestTwoDirectories(t *testing.T) {
	book := casebook.Book{Store: memory.New()}
	a, b := NewDirectory(book, rand.Reader), NewDirectory(book, rand.Reader)
	create(t, a, "m.holt", Nurse)
	if s, err := b.Set(t.Context(), noon); err != nil || s.Get("m.holt") == nil {
		t.Fatal(err)
	}
	create(t, a, "j.okafor", Nurse)
	create(t, b, "i.vance", Prescriber)
	s, err := a.Set(t.Context(), noon.Add(refreshAfter))
	if err != nil || len(s.All()) != 3 {
		t.Errorf("%v, %v", s.All(), err)
	}
	// The same name at the same time: the second is refused on the newest set.
	_, err = b.Change(t.Context(), noon, "x", "", func(s *Set) ([]casebook.Body, error) {
		body, err := s.Create("j.okafor", "X", []Role{Nurse}, nil)
		return []casebook.Body{body}, err
	})
	var r *Refused
	if !errors.As(err, &r) {
		t.Error(err)
	}
}

// TestUnknownEntriesShutTheDoor: an entry of a newer program may have disabled somebody.
func TestUnknownEntriesShutTheDoor(t *testing.T) {
	d := directory(t)
	create(t, d, "m.holt", Nurse)
	reg := d.register
	e := casebook.Entry{ID: "x1", Case: casebook.Accounts, Kind: "account.frozen", Version: 1, At: noon, Recorded: noon, Body: casebook.Unknown{Of: "account.frozen", Raw: []byte(`{"name":"m.holt"}`)}}
	if _, err := reg.Append(t.Context(), d.head, e); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Set(t.Context(), noon.Add(time.Minute)); err == nil {
		t.Error("a set with unknown entries was given out")
	}
}

func TestPasskeysAndCodes(t *testing.T) {
	d := directory(t)
	create(t, d, "a1", Admin)
	s := change(t, d, "a1", func(s *Set) (casebook.Body, error) { return s.AddPasskey("a1", "k1", " my  phone ", []byte(`{}`)) })
	if a := s.ByPasskey("k1"); a == nil || !a.SecondFactor() || a.Passkeys[0].Label != "my phone" {
		t.Fatalf("%+v", a)
	}
	if _, err := s.AddPasskey("a1", "k1", "x", nil); err == nil {
		t.Error("the same passkey twice")
	}
	if _, err := s.RemovePasskey("a1", "k1"); err == nil {
		t.Error("an administrator lost the last second factor")
	}
	s = change(t, d, "a1", func(s *Set) (casebook.Body, error) { return s.SetCode("a1", "SECRET") })
	epoch := s.Get("a1").Epoch
	s = change(t, d, "a1", func(s *Set) (casebook.Body, error) { return s.RemovePasskey("a1", "k1") })
	if s.Get("a1").Epoch == epoch || s.ByPasskey("k1") != nil {
		t.Error("the passkey is still there, or its sessions")
	}
	if _, err := s.SetCode("a1", ""); err == nil {
		t.Error("an administrator lost the last second factor")
	}
}

func TestDevices(t *testing.T) {
	d := directory(t)
	create(t, d, "m.holt", Nurse)
	var s *Set
	for i := range maxDevices + 3 {
		s = change(t, d, "m.holt", func(*Set) (casebook.Body, error) { return DeviceKnown{"m.holt", string(rune('A' + i))}, nil })
	}
	a := s.Get("m.holt")
	if len(a.Devices) != maxDevices || a.Knows("A") || !a.Knows(string(rune('A'+maxDevices+2))) || a.Knows("") {
		t.Errorf("%d computers", len(a.Devices))
	}
	if got := s.OnDevice(a.Devices[0]); len(got) != 1 || got[0] != a {
		t.Error("not found by its computer")
	}
	s = change(t, d, "m.holt", func(*Set) (casebook.Body, error) { return SignedOut{"m.holt"}, nil })
	if len(s.Get("m.holt").Devices) != 0 {
		t.Error("computers stay after signing out everywhere")
	}
}

func TestOnList(t *testing.T) {
	d := directory(t)
	add := func(name, shown string, team string, roles ...Role) *Set {
		return change(t, d, "a", func(s *Set) (casebook.Body, error) { return s.Create(name, shown, roles, []string{team}) })
	}
	add("n.east", "Mara Holt", "East", Nurse)
	add("r.west", "Ruth West", "West", Reader)
	add("admin", "A. Admin", "East", Admin)
	s := add("n.north", "Nora North", "North", Nurse)
	for _, c := range []struct {
		name, nurse, team string
		want              bool
	}{
		{"n.east", "Mara Holt", "", true}, {"n.east", "mara holt", "North", true}, {"n.east", "n.east", "", true}, {"n.east", "Somebody", "East", true}, {"n.east", "", "EAST", true},
		{"n.east", "Nora North", "", false}, {"n.east", "", "North", false}, {"n.east", "Nora North", "North", false},
		{"r.west", "Mara Holt", "West", true}, {"r.west", "Mara Holt", "East", false}, {"admin", "", "East", false}, {"admin", "", "", false},
		// On nobody's list, so on everybody's: nothing is said, the nurse left, the team has no nurse.
		{"n.east", "", "", true}, {"n.north", "", "", true}, {"n.east", "Gone Away", "", true}, {"n.east", "Gone Away", "West", true}, {"r.west", "Gone Away", "South", true},
	} {
		if got := s.OnList(s.Get(c.name), c.nurse, c.team); got != c.want {
			t.Errorf("%s, nurse %q, team %q: %v", c.name, c.nurse, c.team, got)
		}
	}
	s = change(t, d, "admin", func(s *Set) (casebook.Body, error) { return s.Disable("n.north", true, "left") })
	if !s.OnList(s.Get("n.east"), "Nora North", "North") {
		t.Error("the patients of a nurse who left are on nobody's list")
	}
	if s.OnList(s.Get("n.north"), "Nora North", "North") {
		t.Error("a disabled account has a list")
	}
}
