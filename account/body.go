package account

import (
	"encoding/json"
	"time"

	"lowtide/casebook"
)

// The kinds of the accounts' entries. They are known in reserved cases only.
const (
	KindCreated        casebook.Kind = "account.created"
	KindPassword       casebook.Kind = "account.password"
	KindRoles          casebook.Kind = "account.roles"
	KindPasskey        casebook.Kind = "account.passkey"
	KindPasskeyRemoved casebook.Kind = "account.passkey_removed"
	KindCode           casebook.Kind = "account.code"
	KindSecondReset    casebook.Kind = "account.second_reset"
	KindDisabled       casebook.Kind = "account.disabled"
	KindLink           casebook.Kind = "account.link"
	KindSignedOut      casebook.Kind = "account.signed_out"
	KindDevice         casebook.Kind = "account.device"
	KindPasskeys       casebook.Kind = "account.passkeys"
)

// Created starts an account. Name signs in and stands as author of entries; it is never given to somebody else.
type Created struct {
	Name  string   `json:"name"`
	Shown string   `json:"shown"`
	Roles []Role   `json:"roles"`
	Teams []string `json:"teams,omitempty"`
}

// PasswordSet gives the account a password. Hash is Argon2id in PHC form. Link is the hash of the one-time link
// that was used, if one was. Every session and known computer of the account ends.
type PasswordSet struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
	Link string `json:"link,omitempty"`
}

// RolesSet replaces the roles, the teams and the name that is shown.
type RolesSet struct {
	Name  string   `json:"name"`
	Shown string   `json:"shown"`
	Roles []Role   `json:"roles"`
	Teams []string `json:"teams,omitempty"`
}

// PasskeyAdded adds the public half of a passkey. Every session of the account ends but the one that added it. ID is the credential's ID in base64url; Credential is what
// package passkey keeps.
type PasskeyAdded struct {
	Name       string          `json:"name"`
	ID         string          `json:"id"`
	Label      string          `json:"label"`
	Credential json.RawMessage `json:"credential"`
}

// PasskeyRemoved takes a passkey away. Every session of the account ends.
type PasskeyRemoved struct {
	Name string `json:"name"`
	ID   string `json:"id"`
}

// CodeSet sets the secret of one-time codes (RFC 6238) in base32; empty takes it away. Every session ends.
type CodeSet struct {
	Name   string `json:"name"`
	Secret string `json:"secret,omitempty"`
}

// SecondReset takes every passkey and the one-time codes away. Every session ends.
type SecondReset struct {
	Name string `json:"name"`
}

// Disabled closes an account or opens it again; the entry's Reason says why. Every session ends.
type Disabled struct {
	Name     string `json:"name"`
	Disabled bool   `json:"disabled"`
}

// LinkMade makes the one-time link with which a password is set. Hash is the SHA-256 (hex) of its key. A later
// link replaces it.
type LinkMade struct {
	Name  string    `json:"name"`
	Hash  string    `json:"hash"`
	Until time.Time `json:"until"`
}

// SignedOut ends every session of the account and forgets its computers.
type SignedOut struct {
	Name string `json:"name"`
}

// DeviceKnown remembers a computer on which the account signed in; Hash is the SHA-256 (hex) of its cookie.
type DeviceKnown struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
}

// PasskeysAsked says whether everybody is asked for a passkey. A session that was not opened by one can then do no
// more than add one.
type PasskeysAsked struct {
	All bool `json:"all"`
}

// Kind implements [casebook.Body].
func (PasskeysAsked) Kind() casebook.Kind { return KindPasskeys }

// Kind implements [casebook.Body].
func (Created) Kind() casebook.Kind { return KindCreated }

// Kind implements [casebook.Body].
func (PasswordSet) Kind() casebook.Kind { return KindPassword }

// Kind implements [casebook.Body].
func (RolesSet) Kind() casebook.Kind { return KindRoles }

// Kind implements [casebook.Body].
func (PasskeyAdded) Kind() casebook.Kind { return KindPasskey }

// Kind implements [casebook.Body].
func (PasskeyRemoved) Kind() casebook.Kind { return KindPasskeyRemoved }

// Kind implements [casebook.Body].
func (CodeSet) Kind() casebook.Kind { return KindCode }

// Kind implements [casebook.Body].
func (SecondReset) Kind() casebook.Kind { return KindSecondReset }

// Kind implements [casebook.Body].
func (Disabled) Kind() casebook.Kind { return KindDisabled }

// Kind implements [casebook.Body].
func (LinkMade) Kind() casebook.Kind { return KindLink }

// Kind implements [casebook.Body].
func (SignedOut) Kind() casebook.Kind { return KindSignedOut }

// Kind implements [casebook.Body].
func (DeviceKnown) Kind() casebook.Kind { return KindDevice }

func init() {
	casebook.Own[Created](KindCreated)
	casebook.Own[PasswordSet](KindPassword)
	casebook.Own[RolesSet](KindRoles)
	casebook.Own[PasskeyAdded](KindPasskey)
	casebook.Own[PasskeyRemoved](KindPasskeyRemoved)
	casebook.Own[CodeSet](KindCode)
	casebook.Own[SecondReset](KindSecondReset)
	casebook.Own[Disabled](KindDisabled)
	casebook.Own[LinkMade](KindLink)
	casebook.Own[SignedOut](KindSignedOut)
	casebook.Own[DeviceKnown](KindDevice)
	casebook.Own[PasskeysAsked](KindPasskeys)
}
