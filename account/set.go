package account

import (
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
)

// Account is what the entries about one account fold to. It is not modified after folding.
type Account struct {
	// ID is that of the entry that created the account: it tells nothing about the person.
	ID          string
	Name, Shown string
	Roles       []Role
	Teams       []string
	// Hash is the password's; empty while none was set.
	Hash     string
	Passkeys []Passkey
	// Code is the secret of one-time codes in base32, or empty.
	Code     string
	Disabled bool
	// Link is the one-time link that is still unused; it may have run out.
	Link *Link
	// Devices are the hashes of known computers, newest last.
	Devices []string
	// Phones are the devices on which the account works without a network, oldest first.
	Phones []*Phone
	// Epoch changes whenever all sessions of the account have to end.
	Epoch   int
	Created time.Time
}

// Passkey is the public half of a passkey.
type Passkey struct {
	ID, Label  string
	Added      time.Time
	Credential []byte
}

// Link is a one-time link by the hash of its key.
type Link struct {
	Hash  string
	Until time.Time
}

// Is tells whether the account has one of the roles. A disabled account has none.
func (a *Account) Is(roles ...Role) bool {
	return !a.Disabled && slices.ContainsFunc(roles, func(r Role) bool { return slices.Contains(a.Roles, r) })
}

// SecondFactor tells whether the account can prove itself by more than a password.
func (a *Account) SecondFactor() bool { return a.Code != "" || len(a.Passkeys) > 0 }

// Knows tells whether the computer with this hash is known.
func (a *Account) Knows(device string) bool {
	return device != "" && slices.Contains(a.Devices, device)
}

// maxDevices is how many computers of an account are remembered: a ward's, and a few more.
const maxDevices = 40

// Set is every account.
type Set struct {
	byName map[string]*Account
	byLink map[string]*Account
	byKey  map[string]*Account
	// nurses and teams are those of open nurse accounts, in small letters.
	nurses, teams map[string]bool
	tokens        map[string]*Token
	// Passkeys tells that everybody is asked for a passkey.
	Passkeys bool
	// unlockedH is for how many hours a phone stays unlocked; 0 is the usual.
	unlockedH int
	// Unknown counts entries that this program does not know. Accounts it does not understand fully cannot be
	// judged, so a set with unknown entries is refused by [Directory].
	Unknown int
}

// Fold makes the set of its entries in the order in which the store kept them. Entries about an account that was
// not created, and a second creation of a name, count for nothing: they can only come from a damaged store.
func Fold(entries []casebook.Entry) *Set {
	s := &Set{byName: map[string]*Account{}, byLink: map[string]*Account{}, byKey: map[string]*Account{}, nurses: map[string]bool{}, teams: map[string]bool{}, tokens: map[string]*Token{}}
	for _, e := range entries {
		s.apply(e)
	}
	for _, a := range s.byName {
		if a.Link != nil {
			s.byLink[a.Link.Hash] = a
		}
		for _, k := range a.Passkeys {
			s.byKey[k.ID] = a
		}
		if a.Is(Nurse) {
			s.nurses[strings.ToLower(a.Name)], s.nurses[strings.ToLower(a.Shown)] = true, true
			for _, t := range a.Teams {
				s.teams[strings.ToLower(t)] = true
			}
		}
	}
	return s
}

// apply is one switch over the kinds, and long for that reason alone.
func (s *Set) apply(e casebook.Entry) {
	with := func(name string, change func(a *Account)) {
		if a := s.byName[name]; a != nil {
			change(a)
		}
	}
	switch b := e.Body.(type) {
	case Created:
		if s.byName[b.Name] == nil {
			s.byName[b.Name] = &Account{ID: e.ID, Name: b.Name, Shown: b.Shown, Roles: b.Roles, Teams: b.Teams, Created: e.At}
		}
	case PasswordSet:
		with(b.Name, func(a *Account) { a.Hash, a.Link = b.Hash, nil; a.end() })
	case RolesSet:
		with(b.Name, func(a *Account) { a.Shown, a.Roles, a.Teams = b.Shown, b.Roles, b.Teams })
	case PasskeyAdded:
		with(b.Name, func(a *Account) {
			a.Passkeys = append(a.Passkeys, Passkey{b.ID, b.Label, e.At, b.Credential})
			a.Epoch++
		})
	case PasskeyRemoved:
		with(b.Name, func(a *Account) {
			a.Passkeys = slices.DeleteFunc(a.Passkeys, func(k Passkey) bool { return k.ID == b.ID })
			a.end()
		})
	case CodeSet:
		with(b.Name, func(a *Account) { a.Code = b.Secret; a.Epoch++ })
	case SecondReset:
		with(b.Name, func(a *Account) { a.Passkeys, a.Code = nil, ""; a.end() })
	case Disabled:
		with(b.Name, func(a *Account) { a.Disabled = b.Disabled; a.Link = nil; a.end() })
	case LinkMade:
		with(b.Name, func(a *Account) { a.Link = &Link{b.Hash, b.Until} })
	case SignedOut:
		with(b.Name, func(a *Account) { a.end() })
	case DeviceKnown:
		with(b.Name, func(a *Account) {
			if !a.Knows(b.Hash) {
				a.Devices = append(a.Devices, b.Hash)
				a.Devices = a.Devices[max(0, len(a.Devices)-maxDevices):]
			}
		})
	case PasskeysAsked:
		s.Passkeys = b.All
	case TokenMade:
		s.tokens[b.ID] = &Token{TokenMade: b, Made: e.At, By: e.Author}
	case TokenEnded:
		delete(s.tokens, b.ID)
	default:
		if !s.applyPhone(e) {
			s.Unknown++
		}
	}
}

func (a *Account) end() {
	a.Epoch++
	a.Devices = nil
}

// Get returns the account with the name, or nil.
func (s *Set) Get(name string) *Account { return s.byName[name] }

// ByLink returns the account whose unused one-time link has the hash, or nil when there is none or it has run out.
func (s *Set) ByLink(hash string, now time.Time) *Account {
	a := s.byLink[hash]
	if a == nil || a.Disabled || !now.Before(a.Link.Until) || now.Before(a.Link.Until.Add(-linkFor-clockSlack)) {
		return nil
	}
	return a
}

// ByPasskey returns the account with the credential, or nil.
func (s *Set) ByPasskey(id string) *Account { return s.byKey[id] }

// All returns the accounts ordered by name.
func (s *Set) All() []*Account {
	out := make([]*Account, 0, len(s.byName))
	for _, a := range s.byName {
		out = append(out, a)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}

// Empty tells whether there is no account yet: then the first one is to be set up.
func (s *Set) Empty() bool { return len(s.byName) == 0 }

// OnDevice returns the accounts that signed in on the computer before, ordered by the name that is shown.
func (s *Set) OnDevice(hash string) []*Account {
	var out []*Account
	for _, a := range s.byName {
		if a.Knows(hash) && !a.Disabled {
			out = append(out, a)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Shown < out[j].Shown })
	return out
}

// Covered tells whether a patient of the nurse and the team is on some nurse's list.
func (s *Set) Covered(nurse, team string) bool {
	return nurse != "" && s.nurses[strings.ToLower(nurse)] || team != "" && s.teams[strings.ToLower(team)]
}

// OnList tells whether a patient of the nurse and the team is on the person's list: she is the nurse in charge, the
// team is one of hers, or the patient is on no nurse's list at all. Nobody may be overlooked because a nurse left or a
// name was mistyped, so such a patient is on everybody's list.
func (s *Set) OnList(a *Account, nurse, team string) bool {
	if !a.Is(Clinical...) {
		return false
	}
	for _, t := range a.Teams {
		if team != "" && strings.EqualFold(t, team) {
			return true
		}
	}
	return a.InCharge(nurse) || !s.Covered(nurse, team)
}

// InCharge tells whether the name of a nurse in charge is this person's.
func (a *Account) InCharge(nurse string) bool {
	return nurse != "" && (strings.EqualFold(nurse, a.Shown) || strings.EqualFold(nurse, a.Name))
}

// admins counts the accounts that can administer.
func (s *Set) admins() int {
	n := 0
	for _, a := range s.byName {
		if a.Is(Admin) {
			n++
		}
	}
	return n
}
