package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lowtide/account"
	"lowtide/casebook"
)

// givePasskey adds a passkey to an account, as its owner did before.
func (wd *ward) givePasskey(name string) {
	wd.t.Helper()
	_, err := wd.dir.Change(wd.t.Context(), wd.now, name, "", func(*account.Set) ([]casebook.Body, error) {
		return []casebook.Body{account.PasskeyAdded{Name: name, ID: "key-of-" + name, Label: "phone", Credential: []byte(`{}`)}}, nil
	})
	if err != nil {
		wd.t.Fatal(err)
	}
}

func (wd *ward) accountOf(name string) *account.Account {
	wd.t.Helper()
	set, err := account.NewDirectory(wd.book, wd.srv.Random).Set(wd.t.Context(), wd.now)
	if err != nil {
		wd.t.Fatal(err)
	}
	return set.Get(name)
}

// addCodes is what a thief does to make his session a strong one: he sets up codes of his own.
func (wd *ward) addCodes() (last int) {
	w := wd.post("/me/codes/new", nil)
	secret := strings.ReplaceAll(factText(w.Body.String(), "Key"), " ", "")
	if secret == "" {
		secret = codeSecret
	}
	return wd.post("/me/codes", url.Values{"secret": {secret}, "code": {account.CodeAt(secret, wd.now)}}).Code
}

// TestAttackFactorByPassword: whoever has the password of an account with a passkey cannot add a factor of his own,
// take hers away, or change the password.
func TestAttackFactorByPassword(t *testing.T) {
	wd := staffed(t)
	wd.givePasskey("n.east")
	wd.signIn("n.east") // with the password alone
	before := wd.accountOf("n.east")
	if code := wd.addCodes(); code != http.StatusForbidden {
		t.Errorf("codes of the thief's own: %d", code)
	}
	for path, form := range map[string]url.Values{"/me/passkey/begin": nil, "/me/passkey/finish": nil, "/me/passkey/remove": {"passkey": {"key-of-n.east"}}, "/me/codes/remove": nil, "/me/password": {"password": {"four grey geese at dusk"}}} {
		if w := wd.post(path, form); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	if after := wd.accountOf("n.east"); after.Code != "" || len(after.Passkeys) != 1 || after.Hash != before.Hash {
		t.Errorf("the account was changed: %+v", after)
	}
	// Proving again with the password does not do either, also when the form that nobody shows is sent.
	if w := wd.post("/again", url.Values{"password": {longPassword}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("proof by the password alone: %d", w.Code)
	}
	if code := wd.addCodes(); code != http.StatusForbidden {
		t.Errorf("codes after that proof: %d", code)
	}
}

// TestAttackFactorByLink: a stolen one-time link of an administrator gives a password, and with it no way to a factor.
func TestAttackFactorByLink(t *testing.T) {
	wd := staffed(t)
	wd.givePasskey("n.west")
	wd.signIn("admin")
	w := wd.post("/account/n.west/link", nil)
	_, key, _ := strings.Cut(factText(w.Body.String(), "Link"), "key=")
	wd.jar = map[string]*http.Cookie{}
	if w := wd.post("/link", url.Values{"key": {key}, "password": {longPassword}}); w.Code != http.StatusOK {
		t.Fatalf("the link: %d", w.Code)
	}
	wd.signIn("n.west")
	if code := wd.addCodes(); code != http.StatusForbidden || wd.accountOf("n.west").Code != "" {
		t.Errorf("codes of the thief's own: %d", code)
	}
}
