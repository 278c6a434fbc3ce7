package account

import (
	"hash/fnv"
	"strconv"
	"sync"
	"time"
)

// Throttle slows guesses down. It counts wrong tries for a name on one known computer, for a name from one address,
// for a name from all unknown computers together, and for an address over all names. Nobody can lock a colleague
// out: a computer on which she signed in before has a count of its own, which only that computer can raise, a passkey
// or a one-time link is not counted at all, and the count of an address holds up only names that were tried there
// wrongly already: whoever shares an address with somebody who guesses is judged at once.
//
// What is kept is in memory and bounded; a restart forgets it.
type Throttle struct {
	mu   sync.Mutex
	seen map[string]tally
}

type tally struct {
	wrong int
	next  time.Time
	last  time.Time
}

// limit says how many wrong tries are free, how long the first wait is, and the longest.
type limit struct {
	free    int
	longest time.Duration
}

var (
	forDevice  = limit{5, 5 * time.Minute}
	forAddress = limit{5, 15 * time.Minute}
	// forName: SP 800-63B allows at most 100 wrong tries in a row on one account. What comes after that from unknown
	// computers waits an hour each.
	forName   = limit{90, time.Hour}
	forSource = limit{60, time.Minute}
)

const (
	forgetAfter = 24 * time.Hour
	maxTallies  = 20_000
)

// Try is one try to sign in.
type Try struct {
	// Name is the sign-in name that was typed and Known tells whether there is such an account.
	Name  string
	Known bool
	// Device is the hash of the computer's cookie when the account knows it, else empty.
	Device string
	// Address is where the request came from.
	Address string
}

type counted struct {
	key string
	limit
}

// counts lists what a try is counted under. Unknown names share a thousand counts, so that inventing names neither
// fills the memory nor looks different.
func (t Try) counts() []counted {
	name := t.Name
	if !t.Known {
		h := fnv.New32a()
		h.Write([]byte(name))
		name = "?" + strconv.Itoa(int(h.Sum32()%1000))
	}
	if t.Device != "" {
		return []counted{{"device\x00" + name + "\x00" + t.Device, forDevice}}
	}
	return []counted{{"address\x00" + name + "\x00" + t.Address, forAddress}, {"name\x00" + name, forName}, {"source\x00" + t.Address, forSource}}
}

// Begin returns how long the try has to wait; 0 lets it through, and counts it as a wrong one until [Throttle.Right] or
// [Throttle.Undo] says otherwise, so that tries at the same moment cannot pass together. A try that has to wait must not
// be judged.
func (t *Throttle) Begin(try Try, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	wait := t.wait(try, now)
	if wait == 0 {
		t.wrong(try, now)
	}
	return wait
}

// wait is how long the try has to wait; the lock must be held.
func (t *Throttle) wait(try Try, now time.Time) time.Duration {
	wait := time.Duration(0)
	counts := try.counts()
	for _, c := range counts {
		k, ok := t.seen[c.key]
		if !ok || c.limit == forSource && t.seen[counts[0].key].wrong == 0 {
			continue
		}
		// A clock that was set back must not make anybody wait longer than the longest wait.
		if w := k.next.Sub(now); w > 0 {
			wait = max(wait, min(w, c.longest))
		}
	}
	return wait
}

// wrong counts a try; the lock must be held.
func (t *Throttle) wrong(try Try, now time.Time) {
	if t.seen == nil {
		t.seen = map[string]tally{}
	}
	if len(t.seen) >= maxTallies {
		t.forget(now)
	}
	for _, c := range try.counts() {
		k := t.seen[c.key]
		if now.Sub(k.last) > forgetAfter {
			k = tally{}
		}
		k.wrong++
		k.last = now
		if over := k.wrong - c.free; over > 0 {
			k.next = now.Add(min(time.Second<<min(over-1, 20), c.longest))
			if c.limit == forName {
				k.next = now.Add(c.longest)
			}
		}
		t.seen[c.key] = k
	}
}

// Right forgets the wrong tries of the name on that computer or from that address. The count over all addresses stays
// when the try came from a known computer, since it says nothing about the others.
func (t *Throttle) Right(try Try) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, c := range try.counts() {
		if c.limit == forSource {
			t.undo(c)
		} else {
			delete(t.seen, c.key)
		}
	}
}

// Undo takes back a try that was begun and not judged.
func (t *Throttle) Undo(try Try) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, c := range try.counts() {
		t.undo(c)
	}
}

func (t *Throttle) undo(c counted) {
	k, ok := t.seen[c.key]
	if !ok {
		return
	}
	if k.wrong--; k.wrong <= c.free {
		k.next = time.Time{}
	}
	t.seen[c.key] = k
}

// forget drops what is old, and the oldest half when that is not enough.
func (t *Throttle) forget(now time.Time) {
	for age := forgetAfter; len(t.seen) >= maxTallies/2 && age > time.Second; age /= 2 {
		for key, k := range t.seen {
			if now.Sub(k.last) > age || k.last.After(now) {
				delete(t.seen, key)
			}
		}
	}
	if len(t.seen) >= maxTallies {
		clear(t.seen) // all within a second: an attack that the bounded hashing already slows
	}
}
