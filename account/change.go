package account

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"lowtide/casebook"
)

// Refused is a change or a password that is not accepted: Field names the field of the form, What says what is
// wrong and Next what to do.
type Refused struct{ Field, What, Next string }

// Error is both sentences.
func (r *Refused) Error() string { return r.What + " " + r.Next }

const (
	// linkFor is how long a one-time link for a password is good.
	linkFor = 24 * time.Hour
	// clockSlack is how far a clock may be set back without anybody meaning harm.
	clockSlack = time.Hour

	maxShown, maxTeam, maxTeams, maxPasskeys = 60, 60, 20, 10
)

// CleanName brings a sign-in name into the one form in which it is kept.
func CleanName(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// checkName allows what nobody can mistake for another name: letters of one alphabet, digits, dot and hyphen.
func checkName(name string) *Refused {
	ok := len(name) >= 2 && len(name) <= 40 && strings.Trim(name, ".-") == name
	for _, r := range name {
		ok = ok && (r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '.' || r == '-')
	}
	if !ok {
		return &Refused{"name", "The sign-in name cannot be used.", "Take 2 to 40 of the letters a to z, digits, dots and hyphens, with a letter or digit at both ends, such as m.holt."}
	}
	return nil
}

// cleanPerson checks and tidies what an account shows and may do.
func cleanPerson(shown string, roles []Role, teams []string) (string, []Role, []string, *Refused) {
	shown = strings.Join(strings.Fields(norm.NFC.String(shown)), " ")
	if n := utf8.RuneCountInString(shown); n == 0 || n > maxShown {
		return "", nil, nil, &Refused{"shown", "The person's name is missing or longer than 60 letters.", "Write it as colleagues know it."}
	}
	var keptRoles []Role
	for _, r := range Roles {
		if slices.Contains(roles, r) {
			keptRoles = append(keptRoles, r)
		}
	}
	if len(keptRoles) == 0 || slices.ContainsFunc(roles, func(r Role) bool { return !r.Known() }) {
		return "", nil, nil, &Refused{"roles", "No role is chosen.", "Tick at least one."}
	}
	var keptTeams []string
	for _, t := range teams {
		t = strings.Join(strings.Fields(norm.NFC.String(t)), " ")
		switch {
		case t == "" || slices.Contains(keptTeams, t):
		case utf8.RuneCountInString(t) > maxTeam || len(keptTeams) == maxTeams:
			return "", nil, nil, &Refused{"teams", "There are more than 20 teams, or one has a name longer than 60 letters.", "Shorten the list."}
		default:
			keptTeams = append(keptTeams, t)
		}
	}
	return shown, keptRoles, keptTeams, nil
}

// Create starts an account. The error is a [Refused].
func (s *Set) Create(name, shown string, roles []Role, teams []string) (casebook.Body, error) {
	name = CleanName(name)
	if r := checkName(name); r != nil {
		return nil, r
	}
	if s.Get(name) != nil {
		return nil, &Refused{"name", "The sign-in name " + name + " is taken.", "Names are never given to a second person, so that the log stays clear. Take another one."}
	}
	shown, roles, teams, r := cleanPerson(shown, roles, teams)
	if r != nil {
		return nil, r
	}
	return Created{name, shown, roles, teams}, nil
}

// SetRoles changes roles, teams and the name that is shown. Nobody changes her own roles while another
// administrator could, and one administrator always stays. The error is a [Refused].
func (s *Set) SetRoles(by, name, shown string, roles []Role, teams []string) (casebook.Body, error) {
	a := s.Get(name)
	if a == nil {
		return nil, noAccount(name)
	}
	shown, roles, teams, r := cleanPerson(shown, roles, teams)
	if r != nil {
		return nil, r
	}
	if by == name && s.admins() > 1 && !slices.Equal(roles, a.Roles) {
		return nil, &Refused{"roles", "You cannot change your own roles.", "Ask another administrator."}
	}
	if a.Is(Admin) && !slices.Contains(roles, Admin) && s.admins() == 1 {
		return nil, &Refused{"roles", "This is the only administrator.", "Make somebody else administrator first."}
	}
	return RolesSet{name, shown, roles, teams}, nil
}

// Disable closes an account, or opens it again. The error is a [Refused].
func (s *Set) Disable(name string, disabled bool, why string) (casebook.Body, error) {
	a := s.Get(name)
	switch {
	case a == nil:
		return nil, noAccount(name)
	case strings.TrimSpace(why) == "" || utf8.RuneCountInString(why) > 400:
		return nil, &Refused{"why", "The reason is missing or longer than 400 letters.", "Write why, in a few words."}
	case disabled && a.Is(Admin) && s.admins() == 1:
		return nil, &Refused{"why", "This is the only administrator.", "Make somebody else administrator first."}
	}
	return Disabled{name, disabled}, nil
}

// MakeLink makes a one-time link for setting a password and returns its key, of which only the hash is kept. The
// error is a [Refused] or comes from random.
func (s *Set) MakeLink(name string, now time.Time, random io.Reader) (body casebook.Body, key string, err error) {
	a := s.Get(name)
	switch {
	case a == nil:
		return nil, "", noAccount(name)
	case a.Disabled:
		return nil, "", &Refused{"name", "The account is disabled.", "Open it again first."}
	}
	if key, err = NewKey(random); err != nil {
		return nil, "", err
	}
	return LinkMade{name, HashKey(key), now.Add(linkFor)}, key, nil
}

// AddPasskey adds a passkey. The error is a [Refused].
func (s *Set) AddPasskey(name, id, label string, credential []byte) (casebook.Body, error) {
	a := s.Get(name)
	label = strings.Join(strings.Fields(norm.NFC.String(label)), " ")
	switch {
	case a == nil:
		return nil, noAccount(name)
	case s.ByPasskey(id) != nil:
		return nil, &Refused{"label", "This passkey is known already.", "Use it, or make another one."}
	case len(a.Passkeys) >= maxPasskeys:
		return nil, &Refused{"label", "There are ten passkeys already.", "Remove one first."}
	case label == "" || utf8.RuneCountInString(label) > 60:
		return nil, &Refused{"label", "The passkey has no name, or one longer than 60 letters.", "Call it after the thing that holds it, such as \"my phone\"."}
	}
	return PasskeyAdded{name, id, label, credential}, nil
}

// RemovePasskey takes a passkey away; an administrator keeps a second factor. The error is a [Refused].
func (s *Set) RemovePasskey(name, id string) (casebook.Body, error) {
	a := s.Get(name)
	switch {
	case a == nil || s.ByPasskey(id) != a:
		return nil, &Refused{"passkey", "There is no such passkey.", "Look at the list again."}
	case a.Is(Admin) && len(a.Passkeys) == 1 && a.Code == "":
		return nil, &Refused{"passkey", "An administrator needs a second factor, and this is the last one.", "Add another passkey or one-time codes first."}
	}
	return PasskeyRemoved{name, id}, nil
}

// SetCode sets the secret of one-time codes, or takes them away with an empty one; an administrator keeps a second
// factor. The error is a [Refused].
func (s *Set) SetCode(name, secret string) (casebook.Body, error) {
	a := s.Get(name)
	switch {
	case a == nil:
		return nil, noAccount(name)
	case secret == "" && a.Is(Admin) && len(a.Passkeys) == 0:
		return nil, &Refused{"code", "An administrator needs a second factor, and this is the last one.", "Add a passkey first."}
	}
	return CodeSet{name, secret}, nil
}

// MayChange tells whether a session that was proved in this way may change how the account is proved: an account with a
// second factor takes more than the password for that. The error is a [Refused].
func (a *Account) MayChange(by Proof) error {
	if a.SecondFactor() && !by.Strong() {
		return &Refused{"name", "This account has a second factor, and this session was opened without it.", "Prove once more that it is you, with the passkey or a one-time code. If all are lost, ask another administrator."}
	}
	return nil
}

// AskPasskeys asks everybody for a passkey, or no longer. Whoever asks must have come by one herself: so it is known
// that they work here. The error is a [Refused].
func (s *Set) AskPasskeys(all bool, by Proof) (casebook.Body, error) {
	if all && by < ByPasskey {
		return nil, &Refused{"all", "You did not sign in with a passkey yourself.", "Add one to your account and sign in with it first: so it is known that passkeys work here."}
	}
	return PasskeysAsked{all}, nil
}

// ResetSecond takes all second factors of somebody else away, whose telephone is lost; why says how it is known that it
// is she who asks. The error is a [Refused].
func (s *Set) ResetSecond(by, name, why string) (casebook.Body, error) {
	switch {
	case s.Get(name) == nil:
		return nil, noAccount(name)
	case strings.TrimSpace(why) == "" || utf8.RuneCountInString(why) > 400:
		return nil, &Refused{"lost", "The reason is missing or longer than 400 letters.", "Write what is lost, and how you know that it is she who asks."}
	case by == name:
		return nil, &Refused{"name", "These are your own.", "Change them on the page of your account, or ask another administrator."}
	}
	return SecondReset{name}, nil
}

func noAccount(name string) *Refused {
	return &Refused{"name", fmt.Sprintf("There is no account %q.", name), "Look at the list of accounts."}
}

// NewKey makes a key of 192 random bits for a link, a session or a computer, in base64url.
func NewKey(random io.Reader) (string, error) {
	var b [24]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", fmt.Errorf("account: make a key: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b[:]), nil
}

// HashKey is what is kept of a key: its SHA-256 (hex). Keys are random, so a fast hash is enough.
func HashKey(key string) string {
	sum := sha256.Sum256([]byte(key))
	return hex.EncodeToString(sum[:])
}
