package meeting_test

import (
	"crypto/ed25519"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/meeting"
	"lowtide/seal"
)

// start has two devices that know one case.
func start(t *testing.T) (*world, *phone) {
	t.Helper()
	w := newWorld(t, 7, true)
	add(t, w.desk.Book, entry(w.id(w.now), "case-1", "n.east", w.now, casebook.PersonRegistered{Name: "Somebody", Place: "home", Zone: "Europe/London"}))
	p := w.devices[0]
	mustMeet(t, p)
	w.now = w.now.Add(time.Hour)
	return w, p
}

func mustMeet(t *testing.T, p *phone) meeting.Result {
	t.Helper()
	r, err := p.Meet(t.Context())
	if err != nil {
		t.Fatalf("%s: %v", p.ID, err)
	}
	return r
}

func note(w *world, p *phone, text string) casebook.Entry {
	return entry(w.id(p.Now()), "case-1", p.Account, p.Now(), casebook.NoteWritten{Text: text})
}

// refusedWith expects one entry that waits, with a sentence, and that it is still to be read on the device.
func refusedWith(t *testing.T, p *phone, words string) {
	t.Helper()
	waits, err := p.Waiting(t.Context())
	if err != nil || len(waits) != 1 || waits[0].Entry == nil || !strings.Contains(waits[0].What, words) || waits[0].Next == "" {
		t.Fatalf("waits %+v, %v; want %q", waits, err, words)
	}
	if n := len(fold(t, p.w.desk.Book, "case-1").Log); n != 1 {
		t.Errorf("the server has %d entries", n)
	}
}

func TestRightEndedMeanwhile(t *testing.T) {
	w, p := start(t)
	add(t, p.Book(), note(w, p, "written in the valley"))
	w.closed[p.Account] = map[string]bool{"write": true}
	mustMeet(t, p)
	refusedWith(t, p, "may no longer write")
	// She may again: it is sent.
	w.closed[p.Account] = nil
	mustMeet(t, p)
	if waits, _ := p.Waiting(t.Context()); len(waits) != 0 || len(fold(t, w.desk.Book, "case-1").Log) != 2 {
		t.Errorf("still waits: %+v", waits)
	}
}

func TestOffTheList(t *testing.T) {
	w, p := start(t)
	add(t, p.Book(), note(w, p, "written in the valley"))
	w.closed[p.Account] = map[string]bool{"case-1": true}
	mustMeet(t, p)
	refusedWith(t, p, "no longer on your list")
	// Sent from a case that is not hers any more, once she said why; then the case goes from the device.
	w.closed[p.Account] = nil
	if err := p.Send(t.Context()); err != nil {
		t.Fatal(err)
	}
	w.closed[p.Account] = map[string]bool{"case-1": true}
	mustMeet(t, p)
	if n := len(fold(t, p.Book(), "case-1").Log); n != 0 {
		t.Errorf("the device still has %d entries of a case that is not on the list", n)
	}
	// And comes back when it is on the list again.
	w.closed[p.Account] = nil
	mustMeet(t, p)
	if n := len(fold(t, p.Book(), "case-1").Log); n != 2 {
		t.Errorf("%d entries came back", n)
	}
}

func TestErasedMeanwhile(t *testing.T) {
	w, p := start(t)
	add(t, p.Book(), note(w, p, "written in the valley"))
	keys := w.desk.Book.Sealer.(*seal.Keys)
	if err := keys.Erase(t.Context(), w.desk.Book.Store, "case-1", seal.Deed{At: w.now, Author: "admin", Reason: "asked for"}); err != nil {
		t.Fatal(err)
	}
	if err := p.Send(t.Context()); err != nil {
		t.Fatal(err)
	}
	waits, err := p.Waiting(t.Context())
	if err != nil || len(waits) != 1 || !strings.Contains(waits[0].What, "erased on 2 March 2026 by admin because: asked for") {
		t.Errorf("%+v, %v", waits, err)
	}
}

// TestNotOnADevicesWord: nothing is taken because a device says so.
func TestNotOnADevicesWord(t *testing.T) {
	w, p := start(t)
	other := w.devices[1]
	for name, c := range map[string]struct {
		e   casebook.Entry
		dev string
		key ed25519.PrivateKey
	}{
		"another author":       {entry(w.id(w.now), "case-1", "n.west", w.now, casebook.NoteWritten{Text: "x"}), p.ID, p.Key},
		"another's signature":  {note(w, p, "x"), p.ID, other.Key},
		"another's device":     {note(w, p, "x"), other.ID, other.Key},
		"no such device":       {note(w, p, "x"), "device-9", p.Key},
		"a register":           {entry(w.id(w.now), casebook.Ledger, p.Account, w.now, casebook.NoteWritten{Text: "x"}), p.ID, p.Key},
		"what came by file":    {entry(w.id(w.now), casebook.BroughtTo("case-1"), p.Account, w.now, casebook.TakenOver{Entry: "x"}), p.ID, p.Key},
		"tomorrow":             {entry(w.id(w.now), "case-1", p.Account, w.now.Add(time.Hour), casebook.NoteWritten{Text: "x"}), p.ID, p.Key},
		"no content":           {entry(w.id(w.now), "case-1", p.Account, w.now, casebook.NoteWritten{}), p.ID, p.Key},
		"a move from nowhere":  {move(w, p, "case-2"), p.ID, p.Key},
		"a call of other kind": {entry(w.id(w.now), casebook.DeskCall("c1"), p.Account, w.now, casebook.NoteWritten{Text: "x"}), p.ID, p.Key},
	} {
		raw, err := c.e.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		sealed, err := (meeting.Envelope{Device: c.dev, Entry: raw}).SealTo(p.To, c.key)
		if err != nil {
			t.Fatal(err)
		}
		mark, _ := w.desk.Book.Store.Mark(t.Context())
		out, err := w.desk.Take(t.Context(), []meeting.Sealed{{Name: "out/x", Bytes: sealed}}, 0)
		if err != nil || len(out) != 1 || out[0].Kept || out[0].What == "" || out[0].Next == "" {
			t.Errorf("%s: %+v, %v", name, out, err)
		}
		if after, _ := w.desk.Book.Store.Mark(t.Context()); after != mark {
			t.Errorf("%s: something was written", name)
		}
	}
	for _, junk := range [][]byte{nil, []byte("x"), []byte("age-encryption.org/v1\n")} {
		if out, err := w.desk.Take(t.Context(), []meeting.Sealed{{Name: "out/x", Bytes: junk}}, 0); err != nil || out[0].Kept {
			t.Errorf("%q: %+v, %v", junk, out, err)
		}
	}
}

// move says that an entry of somebody else moved in from another case.
func move(w *world, p *phone, from string) casebook.Entry {
	original := entry(w.id(w.now), from, "n.west", w.now, casebook.NoteWritten{Text: "never written"})
	e := entry(w.id(w.now), "case-1", p.Account, w.now, casebook.EntryCorrected{Action: "moved in", OtherCase: from, Original: &original})
	e.Reason = "wrong patient"
	return e
}

func TestLost(t *testing.T) {
	w, p := start(t)
	add(t, p.Book(), note(w, p, "x"))
	w.lost[p.ID] = true
	if _, err := p.Meet(t.Context()); err != meeting.ErrLost {
		t.Errorf("a lost device is told %v", err)
	}
	if err := p.Send(t.Context()); err != meeting.ErrLost {
		t.Errorf("its outbox is told %v", err)
	}
}

// TestSameForm: a form that reached the server just before the network went, and is then saved on the device, is one entry.
func TestSameForm(t *testing.T) {
	w, p := start(t)
	e := note(w, p, "sent twice")
	add(t, w.desk.Book, e)
	e.Recorded = e.Recorded.Add(7 * time.Second)
	add(t, p.Book(), e)
	mustMeet(t, p)
	if waits, _ := p.Waiting(t.Context()); len(waits) != 0 || len(fold(t, w.desk.Book, "case-1").Log) != 2 || len(fold(t, p.Book(), "case-1").Log) != 2 {
		t.Errorf("waits %+v", waits)
	}
	other := note(w, p, "first")
	add(t, w.desk.Book, other)
	other.Body = casebook.NoteWritten{Text: "changed before it was sent again"}
	add(t, p.Book(), other)
	mustMeet(t, p)
	if waits, _ := p.Waiting(t.Context()); len(waits) != 1 || !strings.Contains(waits[0].What, "with other content") {
		t.Errorf("waits %+v", waits)
	}
}

// TestClockADayOff: the time that a wrong clock wrote is set right, and both can be read.
func TestClockADayOff(t *testing.T) {
	for _, off := range []time.Duration{25 * time.Hour, -25 * time.Hour} {
		w, p := start(t)
		p.off = off
		wrong := note(w, p, "by a wrong clock")
		add(t, p.Book(), wrong)
		typed := note(w, p, "the time was typed from the clock on the wall")
		typed.At = w.now.Add(-time.Minute)
		if off < 0 {
			typed.At = wrong.At.Add(-20 * time.Hour)
		}
		add(t, p.Book(), typed)
		right := w.now
		w.now = w.now.Add(30 * time.Minute)
		r := mustMeet(t, p)
		if r.Ahead != off || p.Now() != w.now {
			t.Errorf("the clock is %v off, told %v", off, r.Ahead)
		}
		if waits, _ := p.Waiting(t.Context()); len(waits) != 0 {
			t.Fatalf("waits %+v", waits)
		}
		c := fold(t, w.desk.Book, "case-1")
		l := c.Line(wrong.ID)
		if !l.At.Equal(right.Truncate(time.Millisecond)) || !l.Entry.At.Equal(right.Add(off)) || len(l.By) != 1 {
			t.Errorf("%v: counts at %v, written at %v; it was %v", off, l.At, l.Entry.At, right)
		}
		if why := c.Line(l.By[0]).Entry.Reason; !strings.Contains(why, "1 day and 1 hour") {
			t.Errorf("the reason says %q", why)
		}
		if came := l.Entry.Came; came == nil || came.Phone != "phone of n.east" || came.Ahead != off || came.Claimed() {
			t.Errorf("it came %+v", came)
		}
		if l := c.Line(typed.ID); !l.At.Equal(typed.At) {
			t.Errorf("%v: the typed time was changed to %v", off, l.At)
		}
		mustMeet(t, p)
		if again := fold(t, w.desk.Book, "case-1"); again.Head != c.Head {
			t.Error("a second meeting changed something")
		}
	}
}

// FuzzOpenEnvelope: whatever comes as an envelope, it is refused unless it was sealed to the server; never a panic.
func FuzzOpenEnvelope(f *testing.F) {
	f.Add([]byte("age-encryption.org/v1\n-> X25519 x\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if _, err := meeting.OpenEnvelope(raw, serverKey); err == nil {
			t.Error("junk opens")
		}
	})
}
