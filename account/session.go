package account

import (
	"errors"
	"io"
	"maps"
	"sort"
	"sync"
	"time"
)

// Limits of sessions. SP 800-63B asks at the second level for at most an hour without use and a day in all; a shared
// ward computer asks for less.
const (
	IdleLimit     = 30 * time.Minute
	AbsoluteLimit = 12 * time.Hour
	// FreshFor is how long a proof of identity is enough for what cannot be undone.
	FreshFor = 5 * time.Minute
	// maxSessions bounds what one account can hold open.
	maxSessions = 10
)

// Proof is how a person proved who she is; a greater one is the stronger.
type Proof int

// The ways to prove who one is.
const (
	ByPassword Proof = iota + 1
	ByCode           // the password and a one-time code
	ByPasskey
	ByLink // the link that the program printed for the one person who uses it
)

// Words names the proof to a reader.
func (p Proof) Words() string {
	switch p {
	case ByCode:
		return "password and code"
	case ByPasskey:
		return "passkey"
	case ByLink:
		return "the link that Lowtide printed"
	}
	return "password"
}

// Strong tells whether the proof is more than a password.
func (p Proof) Strong() bool { return p >= ByCode }

// Where is the browser of a session: the address that it came from, and what it says that it is.
type Where struct{ From, Browser string }

// Session is one browser in which somebody signed in.
type Session struct {
	Account string
	Epoch   int
	Made    time.Time
	Used    time.Time
	// Proved is when the person last proved who she is, and By the strongest way in which she did in this session.
	Proved time.Time
	By     Proof
	Where  Where
	// Shown are the cases outside the person's list that she gave a reason for.
	Shown map[string]string
}

// Strong tells whether the person proved who she is by more than a password.
func (s Session) Strong() bool { return s.By.Strong() }

// Fresh tells whether the person proved who she is a short while ago.
func (s Session) Fresh(now time.Time) bool {
	age := now.Sub(s.Proved)
	return age >= 0 && age <= FreshFor
}

// Sessions keeps sessions by the hash of their key, in memory: a restart signs everybody out. The zero value is ready.
type Sessions struct {
	// Idle replaces IdleLimit where nobody shares the computer; zero keeps it.
	Idle time.Duration

	mu   sync.Mutex
	open map[string]Session
}

// Start opens a session and returns its key. The account's oldest session ends when there are too many.
func (s *Sessions) Start(random io.Reader, a *Account, by Proof, where Where, now time.Time) (string, error) {
	return s.put(random, Session{Account: a.Name, Epoch: a.Epoch, Made: now, Used: now, Proved: now, By: by, Where: where})
}

func (s *Sessions) put(random io.Reader, one Session) (string, error) {
	key, err := NewKey(random)
	if err != nil {
		return "", err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.open == nil {
		s.open = map[string]Session{}
	}
	n, oldest := 0, ""
	for hash, other := range s.open {
		if s.ended(other, one.Used) {
			delete(s.open, hash)
		} else if other.Account == one.Account {
			n++
			if oldest == "" || other.Used.Before(s.open[oldest].Used) {
				oldest = hash
			}
		}
	}
	if n >= maxSessions {
		delete(s.open, oldest)
	}
	s.open[HashKey(key)] = one
	return key, nil
}

// ended tells whether a session has run out. A clock that was set back by more than a moment ends it too: how long it
// was open cannot be told then.
func (s *Sessions) ended(one Session, now time.Time) bool {
	idle := s.Idle
	if idle == 0 {
		idle = IdleLimit
	}
	return now.Sub(one.Used) > idle || now.Sub(one.Made) > AbsoluteLimit || now.Before(one.Used.Add(-time.Minute))
}

// Use returns the session of the key and marks it as used. It is not there when it has run out, when its account is
// unknown or disabled, or when the account's sessions were all ended since.
func (s *Sessions) Use(key string, set *Set, now time.Time) (Session, *Account, bool) {
	hash := HashKey(key)
	s.mu.Lock()
	defer s.mu.Unlock()
	one, ok := s.open[hash]
	if !ok {
		return Session{}, nil, false
	}
	a := set.Get(one.Account)
	if a == nil || a.Disabled || a.Epoch != one.Epoch || s.ended(one, now) {
		delete(s.open, hash)
		return Session{}, nil, false
	}
	if now.After(one.Used) {
		one.Used = now
	}
	s.open[hash] = one
	return one, a, true
}

// Prove replaces the session's key after the person proved again who she is, and carries it over to the account as it
// is now. The old key is no longer good.
func (s *Sessions) Prove(random io.Reader, key string, a *Account, by Proof, where Where, now time.Time) (string, error) {
	s.mu.Lock()
	one, ok := s.open[HashKey(key)]
	delete(s.open, HashKey(key))
	s.mu.Unlock()
	if !ok || one.Account != a.Name {
		return s.Start(random, a, by, where, now)
	}
	if one.Epoch == a.Epoch {
		by = max(by, one.By)
	}
	one.Epoch, one.Used, one.Proved, one.By, one.Where = a.Epoch, now, now, by, where
	return s.put(random, one)
}

// Carry replaces the session's key after a change that ended all sessions of the account, and carries it over to the
// account as it is now. How and when the person proved who she is stays as it was.
func (s *Sessions) Carry(random io.Reader, key string, a *Account, now time.Time) (string, error) {
	s.mu.Lock()
	one, ok := s.open[HashKey(key)]
	delete(s.open, HashKey(key))
	s.mu.Unlock()
	if !ok || one.Account != a.Name {
		return "", errors.New("account: the session ended meanwhile")
	}
	one.Epoch, one.Used = a.Epoch, now
	return s.put(random, one)
}

// Listed is an open session under a name that does not open it.
type Listed struct {
	ID string
	Session
}

// sessionID names a session to its owner: a part of the hash of its key, which gives nobody the key.
func sessionID(hash string) string { return hash[:16] }

// SessionID is the name under which [Sessions.Of] lists the session of a key.
func SessionID(key string) string { return sessionID(HashKey(key)) }

// Of lists the open sessions of an account, the one that was used last first.
func (s *Sessions) Of(a *Account, now time.Time) []Listed {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []Listed
	for hash, one := range s.open {
		if one.Account == a.Name && one.Epoch == a.Epoch && !s.ended(one, now) {
			list = append(list, Listed{sessionID(hash), one})
		}
	}
	sort.Slice(list, func(i, j int) bool {
		if !list[i].Used.Equal(list[j].Used) {
			return list[i].Used.After(list[j].Used)
		}
		return list[i].ID < list[j].ID
	})
	return list
}

// EndOne ends the session that [Sessions.Of] lists under the name; false when the account has none of that name.
func (s *Sessions) EndOne(a *Account, id string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	for hash, one := range s.open {
		if one.Account == a.Name && sessionID(hash) == id {
			delete(s.open, hash)
			return true
		}
	}
	return false
}

// Show notes that the session's person gave a reason for a case outside her list.
func (s *Sessions) Show(key, caseID, reason string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if one, ok := s.open[HashKey(key)]; ok {
		shown := maps.Clone(one.Shown)
		if shown == nil {
			shown = map[string]string{}
		}
		shown[caseID] = reason
		one.Shown = shown
		s.open[HashKey(key)] = one
	}
}

// End ends the session of the key.
func (s *Sessions) End(key string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.open, HashKey(key))
}
