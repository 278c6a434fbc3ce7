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

// passkeyLimit is the greatest answer of a device: keys and attestations are far smaller.
const passkeyLimit = 64 << 10

// passkeyAnswer is what the script sends.
type passkeyAnswer struct {
	Key    string          `json:"key"`
	Answer json.RawMessage `json:"answer"`
	To     string          `json:"to"`
	Label  string          `json:"label"`
}

// say answers the script.
func (s *Server) say(w http.ResponseWriter, status int, body any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(body) // the browser went away
}

func (s *Server) sayWhat(w http.ResponseWriter, status int, what string) {
	s.say(w, status, map[string]string{"what": what})
}

// readJSON reads what the script sent; ok is false when the answer was given here.
func (s *Server) readJSON(w http.ResponseWriter, r *http.Request, into any) (ok bool) {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "application/json" {
		s.sayWhat(w, http.StatusUnsupportedMediaType, "That is no answer of a passkey.")
		return false
	}
	raw, err := io.ReadAll(r.Body)
	if err != nil {
		s.sayWhat(w, http.StatusRequestEntityTooLarge, "That is more than a passkey's answer.")
		return false
	}
	if json.Unmarshal(raw, into) != nil {
		s.sayWhat(w, http.StatusUnprocessableEntity, "That is no answer of a passkey.")
		return false
	}
	return true
}

// origin is the address of this server as the browser knows it. The host was checked against the ones that it answers
// to.
func (s *Server) origin(r *http.Request) string {
	if s.Secure {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// passkeyBegin starts signing in, or proving again, with a passkey.
func (s *Server) passkeyBegin(w http.ResponseWriter, r *http.Request) {
	if s.Passkeys == nil {
		s.sayWhat(w, http.StatusNotFound, "There are no passkeys here.")
		return
	}
	options, key, err := s.Passkeys.BeginSignIn(s.origin(r), s.Now())
	s.begun(w, r, options, key, err)
}

func (s *Server) begun(w http.ResponseWriter, r *http.Request, options []byte, key string, err error) {
	if err != nil {
		s.logged(r, "error", err)
		s.sayWhat(w, http.StatusUnprocessableEntity, "Passkeys do not work at this address. They need a name, such as localhost, not a number.")
		return
	}
	s.say(w, http.StatusOK, map[string]any{"key": key, "options": json.RawMessage(options)})
}

// passkeyFinish takes the device's answer. Whoever is signed in already has proved herself again; anybody else is
// signed in.
func (s *Server) passkeyFinish(w http.ResponseWriter, r *http.Request) {
	var in passkeyAnswer
	if s.Passkeys == nil || s.Accounts == nil {
		s.sayWhat(w, http.StatusNotFound, "There are no passkeys here.")
		return
	}
	if !s.readJSON(w, r, &in) {
		return
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a, err := s.Passkeys.FinishSignIn(in.Key, set, in.Answer, s.Now())
	if err != nil {
		s.logged(r, "passkey", err)
		// Passkeys cannot be guessed, so wrong ones make nobody wait; only the lines that they leave are bounded.
		try := account.Try{Name: "passkey", Address: s.from(r)}
		if now := s.Now(); s.doors.throttle.Wait(try, now) == 0 {
			s.doors.throttle.Wrong(try, now)
			if err := s.note(r, accesslog.Noted{Account: "not known", What: accesslog.WrongTry}); err != nil {
				s.fail(w, r, err)
				return
			}
		}
		s.sayWhat(w, http.StatusForbidden, "The passkey was not accepted.")
		return
	}
	if v := who(r); v != nil && v.account.Name == a.Name {
		if !s.proved(w, r, a, account.ByPasskey) {
			return
		}
	} else {
		if !s.begin(w, r, a, account.ByPasskey) {
			return
		}
		if err := s.remember(w, r, a); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	to := safePath(in.To)
	if to == "" {
		to = "/"
	}
	s.say(w, http.StatusOK, map[string]string{"to": to})
}

// passkeyAddBegin starts adding a passkey to one's own account.
func (s *Server) passkeyAddBegin(w http.ResponseWriter, r *http.Request) {
	if s.Passkeys == nil || s.Accounts == nil {
		s.sayWhat(w, http.StatusNotFound, "There are no passkeys here.")
		return
	}
	options, key, err := s.Passkeys.BeginAdd(s.origin(r), who(r).account, s.Now())
	s.begun(w, r, options, key, err)
}

// passkeyAddFinish keeps the new passkey.
func (s *Server) passkeyAddFinish(w http.ResponseWriter, r *http.Request) {
	var in passkeyAnswer
	if s.Passkeys == nil || s.Accounts == nil {
		s.sayWhat(w, http.StatusNotFound, "There are no passkeys here.")
		return
	}
	if !s.readJSON(w, r, &in) {
		return
	}
	a := who(r).account
	id, credential, err := s.Passkeys.FinishAdd(in.Key, a, in.Answer, s.Now())
	if err != nil {
		s.logged(r, "passkey", err)
		s.sayWhat(w, http.StatusForbidden, "The passkey was not accepted.")
		return
	}
	set, err := s.changeOwn(r, func(set *account.Set) (casebook.Body, error) { return set.AddPasskey(a.Name, id, in.Label, credential) })
	var refused *account.Refused
	switch {
	case errors.As(err, &refused):
		s.sayWhat(w, http.StatusUnprocessableEntity, refused.Error())
	case err != nil:
		s.fail(w, r, err)
	default:
		// The device verified the person just now, so the session is a strong one from here on.
		if s.proved(w, r, set.Get(a.Name), account.ByPasskey) {
			s.say(w, http.StatusOK, map[string]string{"to": "/me?done=passkey"})
		}
	}
}

// changeOwn is [Server.change] of one's own account. Whether the session may is judged once more on the newest accounts:
// a second factor may have come meanwhile.
func (s *Server) changeOwn(r *http.Request, plan func(*account.Set) (casebook.Body, error)) (*account.Set, error) {
	v := who(r)
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
func (s *Server) change(r *http.Request, reason string, plan func(*account.Set) (casebook.Body, error)) (*account.Set, error) {
	if err := s.note(r, accesslog.Noted{What: accesslog.Accounts, Why: reason}); err != nil {
		return nil, err
	}
	return s.Accounts.Change(r.Context(), s.Now(), s.author(r), reason, func(set *account.Set) ([]casebook.Body, error) {
		b, err := plan(set)
		return []casebook.Body{b}, err
	})
}
