// Package passkey proves who somebody is by a passkey (W3C Web Authentication). It stands apart from package account
// so that pages do not need it where there are no accounts, as in a browser's own service worker.
//
// Every ceremony asks the device to verify the person (finger, face or PIN), so that a passkey alone is two factors.
package passkey

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/url"
	"sync"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"lowtide/account"
)

// ErrRefused: the answer does not prove anything. Detail is wrapped for the log; it names nobody.
var ErrRefused = errors.New("the passkey was not accepted")

const (
	// answerWithin is how long a person has to answer.
	answerWithin = 5 * time.Minute
	// maxOpen bounds the ceremonies that wait for an answer: more than one address can begin in five minutes.
	maxOpen = 10_000
)

// Keys runs ceremonies. It is safe for several goroutines.
type Keys struct {
	random io.Reader

	mu   sync.Mutex
	open map[string]ceremony
	// counts are the greatest signature counters seen since the program started: a copy of a passkey falls behind.
	counts map[string]uint32
}

// ceremony is one that waits for its answer.
type ceremony struct {
	session webauthn.SessionData
	origin  string
	account string // empty when signing in
	made    time.Time
}

// New returns Keys that take the keys of ceremonies from random.
func New(random io.Reader) *Keys {
	return &Keys{random: random, open: map[string]ceremony{}, counts: map[string]uint32{}}
}

// party is the server as the browser knows it. origin is scheme, host and port; browsers refuse passkeys for a bare
// IP address, so the host must be a name.
func party(origin string) (*webauthn.WebAuthn, error) {
	u, err := url.Parse(origin)
	if err != nil {
		return nil, err
	}
	return webauthn.New(&webauthn.Config{RPID: u.Hostname(), RPDisplayName: "Lowtide", RPOrigins: []string{origin},
		AttestationPreference: protocol.PreferNoAttestation,
		AuthenticatorSelection: protocol.AuthenticatorSelection{ResidentKey: protocol.ResidentKeyRequirementRequired,
			RequireResidentKey: protocol.ResidentKeyRequired(), UserVerification: protocol.VerificationRequired}})
}

// user is an account as the library wants it.
type user struct {
	a     *account.Account
	creds []webauthn.Credential
}

func (u user) WebAuthnID() []byte                         { return []byte(u.a.ID) }
func (u user) WebAuthnName() string                       { return u.a.Name }
func (u user) WebAuthnDisplayName() string                { return u.a.Shown }
func (u user) WebAuthnCredentials() []webauthn.Credential { return u.creds }

func userOf(a *account.Account) (user, error) {
	u := user{a: a}
	for _, k := range a.Passkeys {
		var c webauthn.Credential
		if err := json.Unmarshal(k.Credential, &c); err != nil {
			return u, fmt.Errorf("passkey: a kept passkey cannot be read: %w", err)
		}
		u.creds = append(u.creds, c)
	}
	return u, nil
}

// BeginAdd starts adding a passkey: options goes to the browser, key comes back with its answer.
func (k *Keys) BeginAdd(origin string, a *account.Account, now time.Time) (options []byte, key string, err error) {
	rp, err := party(origin)
	if err != nil {
		return nil, "", err
	}
	u, err := userOf(a)
	if err != nil {
		return nil, "", err
	}
	var exclude []protocol.CredentialDescriptor
	for _, c := range u.creds {
		exclude = append(exclude, c.Descriptor())
	}
	creation, session, err := rp.BeginRegistration(u, webauthn.WithExclusions(exclude),
		// So it can also open the list on a phone: web/static/device.js. What it gives for that is never asked for here.
		webauthn.WithExtensions(webauthn.WithExtensionPRFSupport()))
	if err != nil {
		return nil, "", err
	}
	return k.keep(creation, ceremony{*session, origin, a.Name, now})
}

// FinishAdd checks the browser's answer and returns the passkey's ID and what is to be kept of it.
func (k *Keys) FinishAdd(key string, a *account.Account, answer []byte, now time.Time) (id string, credential []byte, err error) {
	c, err := k.take(key, a.Name, now)
	if err != nil {
		return "", nil, err
	}
	rp, err := party(c.origin)
	if err != nil {
		return "", nil, err
	}
	u, err := userOf(a)
	if err != nil {
		return "", nil, err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(answer)
	if err != nil {
		return "", nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	made, err := rp.CreateCredential(u, c.session, parsed)
	if err != nil {
		return "", nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	// Nobody asks later which make of device it was, so what would tell is not kept.
	made.Attestation = webauthn.CredentialAttestation{}
	raw, err := json.Marshal(made)
	return base64.RawURLEncoding.EncodeToString(made.ID), raw, err
}

// BeginSignIn starts signing in; the browser offers the passkeys that it has for this server.
func (k *Keys) BeginSignIn(origin string, now time.Time) (options []byte, key string, err error) {
	rp, err := party(origin)
	if err != nil {
		return nil, "", err
	}
	assertion, session, err := rp.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return nil, "", err
	}
	return k.keep(assertion, ceremony{*session, origin, "", now})
}

// FinishSignIn checks the browser's answer and returns the account that it proves.
func (k *Keys) FinishSignIn(key string, set *account.Set, answer []byte, now time.Time) (*account.Account, error) {
	c, err := k.take(key, "", now)
	if err != nil {
		return nil, err
	}
	rp, err := party(c.origin)
	if err != nil {
		return nil, err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(answer)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	var found *account.Account
	_, cred, err := rp.ValidatePasskeyLogin(func(rawID, handle []byte) (webauthn.User, error) {
		a := set.ByPasskey(base64.RawURLEncoding.EncodeToString(rawID))
		if a == nil || a.ID != string(handle) || a.Disabled {
			return nil, errors.New("no account has this passkey")
		}
		found = a
		return userOf(a)
	}, c.session, parsed)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	if !cred.Flags.UserVerified || cred.Authenticator.CloneWarning || !k.counted(string(cred.ID), cred.Authenticator.SignCount) {
		return nil, fmt.Errorf("%w: the person was not verified, or the passkey was copied", ErrRefused)
	}
	return found, nil
}

// counted notes a signature counter; false when it went back. Passkeys that do not count say 0.
func (k *Keys) counted(id string, n uint32) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	if last := k.counts[id]; n <= last && last != 0 {
		return false
	}
	k.counts[id] = n
	return true
}

func (k *Keys) keep(options any, c ceremony) ([]byte, string, error) {
	raw, err := json.Marshal(options)
	if err != nil {
		return nil, "", err
	}
	key, err := account.NewKey(k.random)
	if err != nil {
		return nil, "", err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if len(k.open) >= maxOpen {
		for old, o := range k.open {
			// Those that ran out go first; when that is not enough, any, down to nine tenths.
			if age := c.made.Sub(o.made); age > answerWithin || age < -time.Minute || len(k.open) > maxOpen*9/10 {
				delete(k.open, old)
			}
		}
	}
	k.open[account.HashKey(key)] = c
	return raw, key, nil
}

// take returns a ceremony once.
func (k *Keys) take(key, name string, now time.Time) (ceremony, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	hash := account.HashKey(key)
	c, ok := k.open[hash]
	delete(k.open, hash)
	if age := now.Sub(c.made); !ok || c.account != name || age > answerWithin || age < -time.Minute {
		return ceremony{}, fmt.Errorf("%w: it took too long, or was answered before", ErrRefused)
	}
	return c, nil
}
