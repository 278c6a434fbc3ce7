package account

import (
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// guess tries wrong passwords for a while, each as soon as it may, and returns how many were judged.
func guess(t *Throttle, try Try, from time.Time, lasts time.Duration) int {
	n := 0
	for now := from; now.Before(from.Add(lasts)); {
		if w := t.Begin(try, now); w > 0 {
			now = now.Add(w)
			continue
		}
		n++
		now = now.Add(100 * time.Millisecond)
	}
	return n
}

func TestThrottleSlowsGuesses(t *testing.T) {
	var one Throttle
	if n := guess(&one, Try{Name: "m.holt", Known: true, Address: "10.0.0.9"}, noon, 24*time.Hour); n > 120 {
		t.Errorf("%d guesses a day from one address", n)
	}
	// Many addresses: at most a hundred tries, then one an hour.
	var many Throttle
	n := 0
	for i := range 500 {
		n += guess(&many, Try{Name: "m.holt", Known: true, Address: fmt.Sprintf("10.0.%d.%d", i/250, i%250)}, noon.Add(time.Duration(i)*time.Minute), time.Minute)
	}
	if n > 90+10+1 {
		t.Errorf("%d guesses in eight hours from 500 addresses", n)
	}
	// One address, many names.
	var spray Throttle
	n = 0
	for i := range 2000 {
		n += guess(&spray, Try{Name: fmt.Sprint("n", i), Known: true, Address: "10.0.0.9"}, noon.Add(time.Duration(i)*time.Second), time.Second)
	}
	// Each name is judged once, since it may be a colleague's; what comes after that is one a minute.
	if n > 2000+60 {
		t.Errorf("%d guesses in 33 minutes over 2000 names", n)
	}
	for i := range 2000 {
		n += guess(&spray, Try{Name: fmt.Sprint("n", i), Known: true, Address: "10.0.0.9"}, noon.Add(time.Duration(2000+i)*time.Second), time.Second)
	}
	if n > 2000+60+2000/60+10 {
		t.Errorf("%d guesses in 67 minutes over 2000 names, tried twice", n)
	}
}

// peek is how long a try would wait now; count counts a wrong one.
func (t *Throttle) peek(try Try, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.wait(try, now)
}

func (t *Throttle) count(try Try, now time.Time) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.wrong(try, now)
}

// TestThrottleParallel: of sixty tries at one moment no more are judged than one after the other.
func TestThrottleParallel(t *testing.T) {
	var th Throttle
	var judged atomic.Int64
	var wg sync.WaitGroup
	for range 60 {
		wg.Go(func() {
			if th.Begin(Try{Name: "m.holt", Known: true, Address: "10.0.0.9"}, noon) == 0 {
				judged.Add(1)
			}
		})
	}
	wg.Wait()
	if n := judged.Load(); n != int64(forAddress.free)+1 {
		t.Errorf("%d of 60 were judged", n)
	}
}

// TestThrottleSharedAddress: sixty wrong tries from an address hold up those who guess there, and nobody else.
func TestThrottleSharedAddress(t *testing.T) {
	var th Throttle
	for i := range 80 {
		th.Begin(Try{Name: fmt.Sprint("guessed", i%20), Known: i%2 == 0, Address: "10.0.0.9"}, noon)
	}
	if w := th.Begin(Try{Name: "m.holt", Known: true, Address: "10.0.0.9"}, noon); w != 0 {
		t.Errorf("a colleague at the same address waits %v", w)
	}
	th.Right(Try{Name: "m.holt", Known: true, Address: "10.0.0.9"})
	if w := th.Begin(Try{Name: "guessed0", Known: true, Address: "10.0.0.9"}, noon); w == 0 {
		t.Error("who guesses does not wait")
	}
	// A try that was not judged leaves nothing behind.
	for range 200 {
		try := Try{Name: "j.okafor", Known: true, Address: "10.0.0.7"}
		if w := th.Begin(try, noon); w != 0 {
			t.Fatalf("waits %v", w)
		}
		th.Undo(try)
	}
}

// TestThrottleLocksNobodyOut: while somebody guesses without end, a colleague on her own computer, or from a fresh
// address while the name has its tries, signs in at once.
func TestThrottleLocksNobodyOut(t *testing.T) {
	var th Throttle
	for i := range 300 {
		guess(&th, Try{Name: "m.holt", Known: true, Address: fmt.Sprintf("10.1.0.%d", i%250)}, noon.Add(time.Duration(i)*time.Minute), time.Minute)
	}
	now := noon.Add(300 * time.Minute)
	if w := th.peek(Try{Name: "m.holt", Known: true, Device: "d1", Address: "10.1.0.7"}, now); w != 0 {
		t.Errorf("she waits %v on her own computer", w)
	}
	if w := th.peek(Try{Name: "j.okafor", Known: true, Address: "10.2.0.1"}, now); w != 0 {
		t.Errorf("another account waits %v", w)
	}
	if w := th.peek(Try{Name: "m.holt", Known: true, Address: "10.2.0.1"}, now); w == 0 {
		t.Error("an unknown computer does not wait after hundreds of wrong tries")
	}
	// Her own wrong tries are slowed too, and forgotten when she is right.
	hers := Try{Name: "m.holt", Known: true, Device: "d1"}
	for range 8 {
		th.count(hers, now)
	}
	if w := th.peek(hers, now); w <= 0 || w > 5*time.Minute {
		t.Errorf("after eight wrong tries: %v", w)
	}
	th.Right(hers)
	if w := th.peek(hers, now); w != 0 {
		t.Errorf("after the right one: %v", w)
	}
}

// TestThrottleClockBack: a clock that is set back a year makes nobody wait a year.
func TestThrottleClockBack(t *testing.T) {
	var th Throttle
	try := Try{Name: "m.holt", Known: true, Address: "10.0.0.9"}
	for range 10 {
		th.count(try, noon)
	}
	if w := th.peek(try, noon.AddDate(-1, 0, 0)); w > forAddress.longest {
		t.Errorf("waits %v", w)
	}
}

// TestThrottleIsBounded: inventing names and addresses does not fill the memory.
func TestThrottleIsBounded(t *testing.T) {
	var th Throttle
	for i := range 100_000 {
		th.count(Try{Name: fmt.Sprint("x", i), Address: fmt.Sprint(i)}, noon.Add(time.Duration(i)*time.Millisecond))
	}
	if len(th.seen) > maxTallies+3 {
		t.Errorf("%d counts are kept", len(th.seen))
	}
}
