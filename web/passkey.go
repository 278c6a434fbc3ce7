package web

import (
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
)

// passkeyAnswer is what the script sends.
type passkeyAnswer struct {
	Key    string          `json:"key"`
	Answer json.RawMessage `json:"answer"`
	To     string          `json:"to"`
	Label  string          `json:"label"`
}

// sayWhat tells the script what went wrong.
func sayWhat(status int, what string) (Answer, error) {
	return sayJSON(status, map[string]string{"what": what})
}

// readJSON reads what the script sent.
func readJSON(r *Request, into any) error {
	no := func(status int, what string) error { return first(sayWhat(status, what)) }
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "application/json" {
		return no(http.StatusUnsupportedMediaType, "That is no answer of a passkey.")
	}
	raw, err := io.ReadAll(r.Body)
	if err != nil {
		return no(http.StatusRequestEntityTooLarge, "That is more than a passkey's answer.")
	}
	if json.Unmarshal(raw, into) != nil {
		return no(http.StatusUnprocessableEntity, "That is no answer of a passkey.")
	}
	return nil
}

// origin is the address of this server as the browser knows it. The host was checked against the ones that it answers
// to.
func (s *Server) origin(r *Request) string {
	if s.Secure {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// passkeyBegin starts signing in, or proving again, with a passkey.
func (s *Server) passkeyBegin(r *Request) (Answer, error) {
	if s.Passkeys == nil {
		return sayWhat(http.StatusNotFound, "There are no passkeys here.")
	}
	options, key, err := s.Passkeys.BeginSignIn(s.origin(r), s.Now())
	return s.begun(r, options, key, err)
}

func (s *Server) begun(r *Request, options []byte, key string, err error) (Answer, error) {
	if err != nil {
		s.logged(r, "error", err)
		return sayWhat(http.StatusUnprocessableEntity, "Passkeys do not work at this address. They need a name, such as localhost, not a number.")
	}
	return sayJSON(http.StatusOK, map[string]any{"key": key, "options": json.RawMessage(options)})
}

// passkeyFinish takes the device's answer. Whoever is signed in already has proved herself again; anybody else is
// signed in.
func (s *Server) passkeyFinish(r *Request) (Answer, error) {
	var in passkeyAnswer
	if s.Passkeys == nil || s.Accounts == nil {
		return sayWhat(http.StatusNotFound, "There are no passkeys here.")
	}
	if err := readJSON(r, &in); err != nil {
		return nil, err
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	a, err := s.Passkeys.FinishSignIn(in.Key, set, in.Answer, s.Now())
	if err != nil {
		s.logged(r, "passkey", err)
		// Passkeys cannot be guessed, so wrong ones make nobody wait; only the lines that they leave are bounded.
		try := account.Try{Name: "passkey", Address: s.from(r)}
		if s.doors.throttle.Begin(try, s.Now()) == 0 {
			if err := s.note(r, accesslog.Noted{Account: "not known", What: accesslog.WrongTry}); err != nil {
				return nil, err
			}
		}
		return sayWhat(http.StatusForbidden, "The passkey was not accepted.")
	}
	if v := r.who; v != nil && v.account.Name == a.Name {
		err = s.proved(r, a, account.ByPasskey)
	} else if err = s.begin(r, a, account.ByPasskey); err == nil {
		err = s.remember(r, a)
	}
	if err != nil {
		return nil, err
	}
	to := safePath(in.To)
	if to == "" {
		to = "/"
	}
	return sayJSON(http.StatusOK, map[string]string{"to": to})
}

// passkeyAddBegin starts adding a passkey to one's own account.
func (s *Server) passkeyAddBegin(r *Request) (Answer, error) {
	if s.Passkeys == nil || s.Accounts == nil {
		return sayWhat(http.StatusNotFound, "There are no passkeys here.")
	}
	options, key, err := s.Passkeys.BeginAdd(s.origin(r), r.who.account, s.Now())
	return s.begun(r, options, key, err)
}

// passkeyAddFinish keeps the new passkey.
func (s *Server) passkeyAddFinish(r *Request) (Answer, error) {
	var in passkeyAnswer
	if s.Passkeys == nil || s.Accounts == nil {
		return sayWhat(http.StatusNotFound, "There are no passkeys here.")
	}
	if err := readJSON(r, &in); err != nil {
		return nil, err
	}
	a := r.who.account
	id, credential, err := s.Passkeys.FinishAdd(in.Key, a, in.Answer, s.Now())
	if err != nil {
		s.logged(r, "passkey", err)
		return sayWhat(http.StatusForbidden, "The passkey was not accepted.")
	}
	set, err := s.changeOwn(r, func(set *account.Set) (casebook.Body, error) { return set.AddPasskey(a.Name, id, in.Label, credential) })
	var refused *account.Refused
	switch {
	case errors.As(err, &refused):
		return sayWhat(http.StatusUnprocessableEntity, refused.Error())
	case err == nil:
		// The device verified the person just now, so the session is a strong one from here on.
		err = s.proved(r, set.Get(a.Name), account.ByPasskey)
	}
	if err != nil {
		return nil, err
	}
	return sayJSON(http.StatusOK, map[string]string{"to": "/me?done=passkey"})
}

// changeOwn is [Server.change] of one's own account. Whether the session may is judged once more on the newest accounts:
// a second factor may have come meanwhile.
func (s *Server) changeOwn(r *Request, plan func(*account.Set) (casebook.Body, error)) (*account.Set, error) {
	v := r.who
	return s.change(r, "", func(set *account.Set) (casebook.Body, error) {
		a := set.Get(v.account.Name)
		if a == nil || a.Epoch != v.session.Epoch {
			return nil, &account.Refused{Field: "name", What: "The account was changed meanwhile.", Next: "Sign in again."}
		}
		if err := a.MayChange(v.session.By); err != nil {
			return nil, err
		}
		return plan(set)
	})
}

// change plans one change, writes it and notes it in the access log before.
func (s *Server) change(r *Request, reason string, plan func(*account.Set) (casebook.Body, error)) (*account.Set, error) {
	if err := s.note(r, accesslog.Noted{What: accesslog.Accounts, Why: reason}); err != nil {
		return nil, err
	}
	return s.Accounts.Change(r.Context(), s.Now(), s.author(r), reason, func(set *account.Set) ([]casebook.Body, error) {
		b, err := plan(set)
		return []casebook.Body{b}, err
	})
}
