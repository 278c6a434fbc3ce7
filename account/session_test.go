package account

import (
	"crypto/rand"
	"testing"
	"time"

	"lowtide/casebook"
)

func TestSessionLimits(t *testing.T) {
	d := directory(t)
	set := create(t, d, "m.holt", Nurse)
	a := set.Get("m.holt")
	start := func() (*Sessions, string) {
		var s Sessions
		key, err := s.Start(rand.Reader, a, ByPassword, Where{}, noon)
		if err != nil {
			t.Fatal(err)
		}
		return &s, key
	}
	for _, c := range []struct {
		name string
		at   []time.Duration
		want bool
	}{{"at once", []time.Duration{0}, true}, {"at the idle limit", []time.Duration{IdleLimit}, true}, {"past the idle limit", []time.Duration{IdleLimit + time.Second}, false},
		{"in use all day", every(20*time.Minute, AbsoluteLimit), true}, {"past the day", append(every(20*time.Minute, AbsoluteLimit), AbsoluteLimit+time.Second), false},
		{"clock back a little", []time.Duration{10 * time.Minute, 9*time.Minute + 30*time.Second}, true}, {"clock back a year", []time.Duration{10 * time.Minute, -365 * 24 * time.Hour}, false}} {
		s, key := start()
		ok := false
		for _, after := range c.at {
			_, _, ok = s.Use(key, set, noon.Add(after))
		}
		if ok != c.want {
			t.Errorf("%s: %v", c.name, ok)
		}
	}
	s, key := start()
	if _, _, ok := s.Use("another", set, noon); ok {
		t.Error("another key opens")
	}
	s.End(key)
	if _, _, ok := s.Use(key, set, noon); ok {
		t.Error("open after its end")
	}
}

func every(step, until time.Duration) (out []time.Duration) {
	for d := time.Duration(0); d <= until; d += step {
		out = append(out, d)
	}
	return out
}

func TestSignedOutEverywhere(t *testing.T) {
	d := directory(t)
	create(t, d, "a1", Admin)
	set := create(t, d, "m.holt", Nurse)
	for name, plan := range map[string]func(*Set) (casebook.Body, error){
		"signed out": func(*Set) (casebook.Body, error) { return SignedOut{"m.holt"}, nil },
		"password":   func(*Set) (casebook.Body, error) { return PasswordSet{Name: "m.holt", Hash: "h"}, nil },
		"disabled":   func(s *Set) (casebook.Body, error) { return s.Disable("m.holt", true, "left") },
	} {
		var s Sessions
		key, _ := s.Start(rand.Reader, set.Get("m.holt"), ByPassword, Where{}, noon)
		other, _ := s.Start(rand.Reader, set.Get("a1"), ByPassword, Where{}, noon)
		set = change(t, d, "a1", plan)
		if _, _, ok := s.Use(key, set, noon); ok {
			t.Errorf("%s: the session goes on", name)
		}
		if _, _, ok := s.Use(other, set, noon); !ok {
			t.Errorf("%s: another's session ended", name)
		}
	}
}

func TestProve(t *testing.T) {
	d := directory(t)
	set := create(t, d, "m.holt", Nurse)
	a := set.Get("m.holt")
	var s Sessions
	key, _ := s.Start(rand.Reader, a, ByPassword, Where{}, noon)
	s.Show(key, "c1", "on call")
	later := noon.Add(20 * time.Minute)
	one, _, _ := s.Use(key, set, later)
	if one.Fresh(later) || !one.Fresh(noon.Add(FreshFor)) || one.Fresh(noon.Add(-time.Second)) {
		t.Error("freshness")
	}
	next, err := s.Prove(rand.Reader, key, a, ByCode, Where{}, later)
	if err != nil || next == key {
		t.Fatal(err)
	}
	if _, _, ok := s.Use(key, set, later); ok {
		t.Error("the old key is still good")
	}
	one, _, ok := s.Use(next, set, later)
	if !ok || !one.Fresh(later) || !one.Strong() || one.Shown["c1"] != "on call" || !one.Made.Equal(noon) {
		t.Errorf("%+v", one)
	}
	// A key of somebody else is not carried over.
	set = create(t, d, "j.okafor", Nurse)
	third, _ := s.Prove(rand.Reader, next, set.Get("j.okafor"), ByPassword, Where{}, later)
	one, _, _ = s.Use(third, set, later)
	if one.Account != "j.okafor" || one.Strong() || len(one.Shown) != 0 {
		t.Errorf("%+v", one)
	}
	if _, _, ok := s.Use(next, set, later); ok {
		t.Error("the session before goes on after a switch")
	}
}

func TestSessionsAreBounded(t *testing.T) {
	d := directory(t)
	set := create(t, d, "m.holt", Nurse)
	var s Sessions
	for i := range 50 {
		if _, err := s.Start(rand.Reader, set.Get("m.holt"), ByPassword, Where{}, noon.Add(time.Duration(i)*time.Second)); err != nil {
			t.Fatal(err)
		}
	}
	if len(s.open) > maxSessions {
		t.Errorf("%d sessions", len(s.open))
	}
}
