package passkey

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"lowtide/account"
	"lowtide/casebook"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

const origin = "https://lowtide.example:7433"

func someone() (*account.Set, *account.Account) {
	s := account.Fold([]casebook.Entry{{ID: "e1", Kind: account.KindCreated, Body: account.Created{Name: "m.holt", Shown: "Mara Holt", Roles: []account.Role{account.Nurse}}}})
	return s, s.Get("m.holt")
}

// TestOptions: every ceremony asks the device to verify the person, and names this server only.
func TestOptions(t *testing.T) {
	k := New(rand.Reader)
	_, a := someone()
	raw, _, err := k.BeginAdd(origin, a, noon)
	if err != nil {
		t.Fatal(err)
	}
	var add struct {
		PublicKey struct {
			RP                     struct{ ID string }
			User                   struct{ ID string }
			Challenge              string
			AuthenticatorSelection struct{ UserVerification, ResidentKey string }
			Attestation            string
		}
	}
	if err := json.Unmarshal(raw, &add); err != nil {
		t.Fatal(err)
	}
	p := add.PublicKey
	if p.RP.ID != "lowtide.example" || p.AuthenticatorSelection.UserVerification != "required" || p.AuthenticatorSelection.ResidentKey != "required" || len(p.Challenge) < 22 || strings.Contains(string(raw), "m.holt") && p.User.ID == "m.holt" {
		t.Errorf("%s", raw)
	}
	raw, _, err = k.BeginSignIn(origin, noon)
	if err != nil || !strings.Contains(string(raw), `"userVerification":"required"`) || !strings.Contains(string(raw), `"rpId":"lowtide.example"`) {
		t.Errorf("%s, %v", raw, err)
	}
}

// TestRefused: an answer counts once, in time, for the account that asked; and rubbish never.
func TestRefused(t *testing.T) {
	k := New(rand.Reader)
	set, a := someone()
	begin := func() string {
		_, key, err := k.BeginSignIn(origin, noon)
		if err != nil {
			t.Fatal(err)
		}
		return key
	}
	for _, answer := range []string{"", "{}", "null", `{"id":"x","rawId":"eA","type":"public-key","response":{}}`, strings.Repeat("[", 10000)} {
		if got, err := k.FinishSignIn(begin(), set, []byte(answer), noon); got != nil || !errors.Is(err, ErrRefused) {
			t.Errorf("%.20q: %v, %v", answer, got, err)
		}
		_, key, _ := k.BeginAdd(origin, a, noon)
		if _, _, err := k.FinishAdd(key, a, []byte(answer), noon); !errors.Is(err, ErrRefused) {
			t.Errorf("%.20q: %v", answer, err)
		}
	}
	key := begin()
	if _, err := k.take(key, "", noon.Add(answerWithin+time.Second)); !errors.Is(err, ErrRefused) {
		t.Errorf("late: %v", err)
	}
	key = begin()
	if _, err := k.take(key, "", noon); err != nil {
		t.Error(err)
	}
	if _, err := k.take(key, "", noon); !errors.Is(err, ErrRefused) {
		t.Errorf("twice: %v", err)
	}
	_, key, _ = k.BeginAdd(origin, a, noon)
	if _, err := k.take(key, "j.okafor", noon); !errors.Is(err, ErrRefused) {
		t.Errorf("another account: %v", err)
	}
	_, key, _ = k.BeginAdd(origin, a, noon)
	if _, err := k.take(key, "", noon); !errors.Is(err, ErrRefused) {
		t.Errorf("adding answered as signing in: %v", err)
	}
}

func TestCounter(t *testing.T) {
	k := New(rand.Reader)
	for i, c := range []struct {
		n    uint32
		want bool
	}{{0, true}, {0, true}, {5, true}, {5, false}, {4, false}, {6, true}} {
		if got := k.counted("id", c.n); got != c.want {
			t.Errorf("step %d: %v", i, got)
		}
	}
}

func TestBounded(t *testing.T) {
	k := New(rand.Reader)
	for range maxOpen + 500 {
		if _, _, err := k.BeginSignIn(origin, noon); err != nil {
			t.Fatal(err)
		}
	}
	if len(k.open) > maxOpen {
		t.Errorf("%d ceremonies are open", len(k.open))
	}
}
