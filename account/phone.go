package account

import (
	"crypto/ed25519"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"lowtide/casebook"
)

// The kinds of entries about phones: devices on which a nurse works without a network.
const (
	KindPhone      casebook.Kind = "account.phone"
	KindPhoneState casebook.Kind = "account.phone_state"
	KindPhoneMet   casebook.Kind = "account.phone_met"
	KindPhoneRules casebook.Kind = "account.phone_rules"
)

// PhoneAdded registers a device of an account. Key is the public half (Ed25519) of the key that it signs its entries with.
type PhoneAdded struct {
	Name  string `json:"name"`
	ID    string `json:"id"`
	Label string `json:"label"`
	Key   []byte `json:"key"`
}

// States of a phone.
const (
	PhoneInUse = "in use"
	PhoneLost  = "lost"  // it drops its key when it next meets the server, and nothing is taken from it
	PhoneFreed = "freed" // its owner keeps nothing on it any more; what it still sends is taken
)

// PhoneStateSet says that a phone was lost, found again, or set free; the entry's Reason says why.
type PhoneStateSet struct {
	Name  string `json:"name"`
	ID    string `json:"id"`
	State string `json:"state"`
}

// PhoneMet says that a phone met the server. Unsent is how many entries and files waited on it then, and AheadS by how many
// seconds its clock was ahead.
type PhoneMet struct {
	Name   string `json:"name"`
	ID     string `json:"id"`
	Unsent int    `json:"unsent"`
	AheadS int64  `json:"ahead_s"`
}

// PhoneRulesSet says for how many hours a phone stays unlocked.
type PhoneRulesSet struct {
	UnlockedH int `json:"unlocked_h"`
}

// Kind implements [casebook.Body].
func (PhoneAdded) Kind() casebook.Kind { return KindPhone }

// Kind implements [casebook.Body].
func (PhoneStateSet) Kind() casebook.Kind { return KindPhoneState }

// Kind implements [casebook.Body].
func (PhoneMet) Kind() casebook.Kind { return KindPhoneMet }

// Kind implements [casebook.Body].
func (PhoneRulesSet) Kind() casebook.Kind { return KindPhoneRules }

func init() {
	casebook.Own[PhoneAdded](KindPhone)
	casebook.Own[PhoneStateSet](KindPhoneState)
	casebook.Own[PhoneMet](KindPhoneMet)
	casebook.Own[PhoneRulesSet](KindPhoneRules)
}

// Phone is a device as the entries say.
type Phone struct {
	PhoneAdded
	Added time.Time
	// State is one of [PhoneInUse], [PhoneLost] and [PhoneFreed].
	State string
	// Met is when it last met the server, Unsent what waited on it then, and Ahead how far its clock was ahead; zero when it
	// never did.
	Met    time.Time
	Unsent int
	Ahead  time.Duration
}

const (
	maxPhones = 10
	// UnlockedUsual is for how many hours a phone stays unlocked unless the agency says otherwise: a long shift.
	UnlockedUsual = 10
	maxUnlocked   = 24
	// metAgain is how often a meeting is noted when nothing changed.
	metAgain = time.Hour
)

// PhonesInUse are the account's phones that were not set free, oldest first.
func (a *Account) PhonesInUse() []*Phone {
	return slices.DeleteFunc(slices.Clone(a.Phones), func(p *Phone) bool { return p.State == PhoneFreed })
}

// Phone finds a phone with its owner; nil when there is none.
func (s *Set) Phone(id string) (*Phone, *Account) {
	for _, a := range s.byName {
		for _, p := range a.Phones {
			if p.ID == id {
				return p, a
			}
		}
	}
	return nil, nil
}

// UnlockedHours is for how many hours a phone stays unlocked.
func (s *Set) UnlockedHours() int {
	if s.unlockedH == 0 {
		return UnlockedUsual
	}
	return s.unlockedH
}

// AddPhone registers a device of an account. The error is a [Refused] or comes from random.
func (s *Set) AddPhone(name, label string, key []byte, now time.Time, random io.Reader) (body casebook.Body, id string, err error) {
	a := s.Get(name)
	label = strings.Join(strings.Fields(norm.NFC.String(label)), " ")
	switch {
	case a == nil:
		return nil, "", noAccount(name)
	case len(a.PhonesInUse()) >= maxPhones:
		return nil, "", &Refused{"label", "There are ten phones already.", "Set one free first."}
	case label == "" || utf8.RuneCountInString(label) > 60:
		return nil, "", &Refused{"label", "The phone has no name, or one longer than 60 letters.", "Call it so that you know it again in a list, such as \"my phone\"."}
	case len(key) != ed25519.PublicKeySize:
		return nil, "", &Refused{"key", "The phone sent no key.", "Open the page again and set it up once more."}
	}
	if id, err = casebook.NewID(now, random); err != nil {
		return nil, "", err
	}
	return PhoneAdded{Name: name, ID: id, Label: label, Key: key}, id, nil
}

// SetPhone says that a phone of the account was lost, found again or set free. The error is a [Refused].
func (s *Set) SetPhone(name, id, state, why string) (casebook.Body, error) {
	p, a := s.Phone(id)
	switch {
	case p == nil || a.Name != name:
		return nil, &Refused{"phone", "There is no such phone.", "Look at the list again."}
	case state != PhoneInUse && state != PhoneLost && state != PhoneFreed:
		return nil, &Refused{"state", "It is not said what became of the phone.", "Use the buttons of this page."}
	case p.State == PhoneFreed:
		return nil, &Refused{"phone", "This phone was set free already.", "Set it up again on the phone itself."}
	case state != PhoneFreed && (strings.TrimSpace(why) == "" || utf8.RuneCountInString(why) > 400):
		return nil, &Refused{"why", "The reason is missing or longer than 400 letters.", "Write why, in a few words."}
	}
	return PhoneStateSet{Name: name, ID: id, State: state}, nil
}

// MetPhone notes that a phone met the server; nil when nothing changed and the last note is fresh.
func (s *Set) MetPhone(id string, unsent int, ahead time.Duration, now time.Time) casebook.Body {
	p, a := s.Phone(id)
	if p == nil || p.Unsent == unsent && (p.Ahead-ahead).Abs() < time.Minute && now.Sub(p.Met) < metAgain {
		return nil
	}
	return PhoneMet{Name: a.Name, ID: id, Unsent: max(unsent, 0), AheadS: int64(ahead.Round(time.Second) / time.Second)}
}

// SetPhoneRules says for how long phones stay unlocked. The error is a [Refused].
func (s *Set) SetPhoneRules(hours int) (casebook.Body, error) {
	if hours < 1 || hours > maxUnlocked {
		return nil, &Refused{"hours", "The number of hours is not between 1 and 24.", "A shift and the way home is usual."}
	}
	return PhoneRulesSet{UnlockedH: hours}, nil
}

func (s *Set) applyPhone(e casebook.Entry) bool {
	with := func(id string, change func(*Phone)) {
		if p, _ := s.Phone(id); p != nil {
			change(p)
		}
	}
	switch b := e.Body.(type) {
	case PhoneAdded:
		if a := s.byName[b.Name]; a != nil {
			a.Phones = append(a.Phones, &Phone{PhoneAdded: b, Added: e.At, State: PhoneInUse})
		}
	case PhoneStateSet:
		with(b.ID, func(p *Phone) { p.State = b.State })
	case PhoneMet:
		with(b.ID, func(p *Phone) { p.Met, p.Unsent, p.Ahead = e.At, b.Unsent, time.Duration(b.AheadS)*time.Second })
	case PhoneRulesSet:
		s.unlockedH = b.UnlockedH
	default:
		return false
	}
	return true
}
