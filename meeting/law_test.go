package meeting_test

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"filippo.io/age"
	"pgregory.net/rapid"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/meeting"
	"lowtide/seal"
)

var monday = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// schedules is how many schedules the law tries.
func schedules() int {
	if os.Getenv("LOWTIDE_DEEP") != "" {
		return 10_000
	}
	return 300
}

// world is a server and the devices of two nurses, each with a clock of its own.
type world struct {
	now     time.Time
	random  io.Reader
	desk    meeting.Desk
	devices []*phone
	lost    map[string]bool
	// rights of each account, by name.
	closed map[string]map[string]bool
	// waits are entries that the server does not take.
	waits map[string]bool
}

type phone struct {
	*meeting.Device
	w     *world
	off   time.Duration
	pub   ed25519.PublicKey
	store *memory.Store
	// cut decides what becomes of the next questions.
	cut func() fate
	// late are questions that arrive again, much later.
	late []func()
	asks int
}

// failing is a test, or one run of a law.
type failing interface{ Errorf(string, ...any) }

type fate int

const (
	arrives fate = iota
	nothing      // the question never arrives
	unheard      // it arrives, and the answer does not
	twice        // it arrives twice
	again        // it arrives, and once more much later
)

var errCut = errors.New("the line was cut")

var serverKey, selfKey = mustKey(), mustKey()

func mustKey() *age.X25519Identity {
	k, err := age.GenerateX25519Identity()
	if err != nil {
		panic(err)
	}
	return k
}

func newWorld(t testing.TB, seed uint64, sealed bool) *world {
	w := &world{now: monday, random: rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), 1}), lost: map[string]bool{}, closed: map[string]map[string]bool{}, waits: map[string]bool{}}
	book := func() (casebook.Book, *memory.Store) {
		s := memory.New()
		if !sealed {
			return casebook.Book{Store: s}, s
		}
		key, err := seal.NewKey(w.random)
		if err != nil {
			t.Fatal(err)
		}
		keys, err := seal.Start(t.Context(), s, key, w.random)
		if err != nil {
			t.Fatal(err)
		}
		return casebook.Book{Store: s, Sealer: keys}, s
	}
	b, _ := book()
	w.desk = meeting.Desk{Book: b, Key: serverKey, Now: func() time.Time { return w.now }, Device: w.device, Rights: func(a string) meeting.Rights { return rights{w, a} }}
	for i, name := range []string{"n.east", "n.west"} {
		b, s := book()
		seed := make([]byte, 32)
		seed[0] = byte(i + 1)
		key := ed25519.NewKeyFromSeed(seed)
		p := &phone{w: w, pub: key.Public().(ed25519.PublicKey), store: s, cut: func() fate { return arrives }}
		p.Device = &meeting.Device{Account: name, Sealer: b.Sealer, Key: key, To: serverKey.Recipient(), Self: selfKey, Random: w.random, SmallSince: monday.AddDate(0, 0, -7)}
		p.Outbox = meeting.Outbox{ID: fmt.Sprint("device-", i), Shelf: s, Line: p, Clock: func() time.Time { return w.now.Add(p.off) }, SelfTo: selfKey.Recipient()}
		w.devices = append(w.devices, p)
	}
	return w
}

func (w *world) device(id string) (meeting.Registered, bool) {
	for _, p := range w.devices {
		if p.ID == id {
			return meeting.Registered{ID: id, Account: p.Account, Phone: "phone of " + p.Account, Key: p.pub, Lost: w.lost[id]}, true
		}
	}
	return meeting.Registered{}, false
}

type rights struct {
	w       *world
	account string
}

func (r rights) Write(casebook.Kind) bool { return !r.w.closed[r.account]["write"] }
func (r rights) Open(_ context.Context, caseID string) (bool, error) {
	return !r.w.closed[r.account][caseID], nil
}

// Ask is the line to the server, which can be cut.
func (p *phone) Ask(ctx context.Context, path string, in, out any) error {
	p.asks++
	raw, err := json.Marshal(in)
	if err != nil {
		return err
	}
	f := p.cut()
	if f == nothing {
		return errCut
	}
	answer, err := p.w.answer(ctx, p, path, raw)
	if err != nil {
		return err
	}
	switch f {
	case unheard:
		return errCut
	case twice:
		if answer, err = p.w.answer(ctx, p, path, raw); err != nil {
			return err
		}
	case again:
		p.late = append(p.late, func() { _, _ = p.w.answer(context.Background(), p, path, raw) })
	}
	return json.Unmarshal(answer, out)
}

// answer is what the handlers of the server do.
func (w *world) answer(ctx context.Context, p *phone, path string, raw []byte) ([]byte, error) {
	var h meeting.Hello
	if err := json.Unmarshal(raw, &h); err != nil {
		return nil, err
	}
	word, ok := w.desk.Word(h, p.Account)
	if !ok {
		return json.Marshal(word)
	}
	switch path {
	case meeting.PathList:
		var in meeting.ListAsked
		if err := json.Unmarshal(raw, &in); err != nil {
			return nil, err
		}
		list := meeting.List{Word: word}
		heads, err := w.desk.Book.Store.Cases(ctx)
		if err != nil {
			return nil, err
		}
		mine := map[string]bool{}
		for _, h := range heads {
			if casebook.Reserved(h.Case) || w.closed[p.Account][h.Case] {
				continue
			}
			l, err := w.desk.Streams(ctx, h.Case)
			if err != nil {
				return nil, err
			}
			mine[h.Case] = true
			list.Cases = append(list.Cases, l)
		}
		for _, id := range in.Have {
			if w.closed[p.Account][id] {
				list.Gone = append(list.Gone, meeting.Gone{Case: id, Why: "not on your list"})
			}
		}
		return json.Marshal(list)
	case meeting.PathPart:
		var in meeting.PartAsked
		if err := json.Unmarshal(raw, &in); err != nil {
			return nil, err
		}
		part, err := w.desk.Part(ctx, in.Stream, in.After)
		part.Word = word
		if err != nil {
			return nil, err
		}
		return json.Marshal(part)
	case meeting.PathPush:
		var in meeting.Push
		if err := json.Unmarshal(raw, &in); err != nil {
			return nil, err
		}
		out, err := w.desk.Take(ctx, in.Envelopes, h.Now.Sub(word.Now))
		if err != nil {
			return nil, err
		}
		return json.Marshal(meeting.Pushed{Word: word, Outcomes: out})
	case meeting.PathSmall:
		var in meeting.SmallAsked
		if err := json.Unmarshal(raw, &in); err != nil {
			return nil, err
		}
		content, err := w.desk.Book.Blob(ctx, in.Case, in.Name)
		if errors.Is(err, casebook.ErrNotFound) {
			err = nil
		}
		if err != nil {
			return nil, err
		}
		return json.Marshal(meeting.Small{Word: word, Bytes: content})
	}
	return nil, fmt.Errorf("no path %s", path)
}

func (w *world) id(at time.Time) string {
	id, err := casebook.NewID(at, w.random)
	if err != nil {
		panic(err)
	}
	return id
}

func entry(id, caseID, author string, at time.Time, b casebook.Body) casebook.Entry {
	at = at.Truncate(time.Millisecond)
	return casebook.Entry{ID: id, Case: caseID, Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: at, Recorded: at, Author: author, Body: b}
}

func add(t testing.TB, book casebook.Book, e casebook.Entry) {
	t.Helper()
	_, head, err := book.Entries(t.Context(), e.Case)
	if err == nil {
		_, err = book.Append(t.Context(), head, e)
	}
	if err != nil {
		t.Fatalf("write %s: %v", e.ID, err)
	}
}

func fold(t testing.TB, book casebook.Book, caseID string) *casebook.Case {
	t.Helper()
	list, _, err := book.Entries(t.Context(), caseID)
	if err != nil {
		t.Fatal(err)
	}
	return casebook.Fold(caseID, list)
}

// schedule is one run of the law: two devices without a network and a server write for a week, and meet over a line that is
// cut anywhere.
func schedule(t *testing.T, rt *rapid.T, seed uint64, sealed, clocks bool) {
	t.Helper()
	w := newWorld(t, seed, sealed)
	cases := []string{"case-1", "case-2"}
	written := map[string]bool{}
	write := func(book casebook.Book, e casebook.Entry) {
		add(t, book, e)
		written[e.ID] = true
	}
	for _, id := range cases {
		write(w.desk.Book, entry(w.id(w.now), id, "n.east", w.now, casebook.PersonRegistered{Name: "Somebody", Place: "home", Zone: "Europe/London"}))
	}
	meet := func(p *phone) error { _, err := p.Meet(t.Context()); return err }
	for _, p := range w.devices {
		if err := meet(p); err != nil {
			t.Fatal(err)
		}
	}
	steps := rapid.IntRange(4, 24).Draw(rt, "steps")
	for i := range steps {
		w.now = w.now.Add(time.Duration(rapid.IntRange(1, 14*60).Draw(rt, "minutes")) * time.Minute)
		who := rapid.IntRange(0, 2).Draw(rt, "who")
		book, author, now := w.desk.Book, "n.east", w.now
		if who > 0 {
			p := w.devices[who-1]
			book, author, now = p.Book(), p.Account, p.Now()
		}
		caseID := rapid.SampledFrom(cases).Draw(rt, "case")
		switch what := rapid.IntRange(0, 9).Draw(rt, "what"); {
		case what < 4:
			write(book, entry(w.id(now), caseID, author, now, casebook.NoteWritten{Text: fmt.Sprint("note ", i)}))
		case what == 4: // a photo
			content := []byte(fmt.Sprint("photo ", i))
			if sealed {
				content = append(content, make([]byte, 300)...)
			}
			hash, err := book.PutBlob(t.Context(), caseID, content)
			if err != nil {
				t.Fatal(err)
			}
			e := entry(w.id(now), caseID, author, now, casebook.PhotoTaken{Wound: "A", WidthPx: 10, HeightPx: 10})
			if fold(t, book, caseID).Wound("A") == nil {
				write(book, entry(w.id(now), caseID, author, now, casebook.WoundFound{Wound: "A", Site: "left shin", Type: "other"}))
			}
			e.Blobs = []string{hash}
			write(book, e)
		case what == 5: // a correction of what is seen there
			c := fold(t, book, caseID)
			var lines []casebook.Line
			for _, l := range c.Log {
				if l.Entry.Kind == casebook.KindNoteWritten && (l.State == casebook.InForce || l.State == casebook.Replaced) {
					lines = append(lines, l)
				}
			}
			if len(lines) == 0 {
				continue
			}
			l := lines[rapid.IntRange(0, len(lines)-1).Draw(rt, "line")]
			b := casebook.EntryCorrected{Action: "withdraw"}
			if rapid.Bool().Draw(rt, "replace") {
				b = casebook.EntryCorrected{Action: "replace", Body: json.RawMessage(fmt.Sprintf(`{"text":"instead %d"}`, i))}
			}
			e := entry(w.id(now), caseID, author, now, b)
			e.Corrects, e.Reason = l.Entry.ID, "it was wrong"
			write(book, e)
		case what == 6 && who > 0: // a patient who is first seen without a network
			id := fmt.Sprint("case-new-", i)
			write(book, entry(w.id(now), id, author, now, casebook.PersonRegistered{Name: "New", Place: "home", Zone: "Europe/London"}))
		case what == 7 && who > 0 && clocks:
			w.devices[who-1].off = rapid.SampledFrom([]time.Duration{0, 24 * time.Hour, -24 * time.Hour, 3 * time.Minute, 26 * time.Hour}).Draw(rt, "clock")
		case who > 0:
			p := w.devices[who-1]
			p.cut = func() fate { return fate(rapid.IntRange(0, 4).Draw(rt, "fate")) }
			if err := meet(p); err != nil && !errors.Is(err, errCut) {
				rt.Fatalf("meeting: %v", err)
			}
			if late := p.late; len(late) > 0 && rapid.Bool().Draw(rt, "late") {
				p.late = nil
				for _, f := range slices.Backward(late) {
					f()
				}
			}
		}
	}
	// In the end the line holds. The second meeting brings what the other device sent.
	last := func() (held []meeting.Wait) {
		for range 3 {
			held = nil
			for _, p := range w.devices {
				p.cut = func() fate { return arrives }
				w.now = w.now.Add(time.Minute)
				if err := meet(p); err != nil {
					rt.Fatalf("last meeting: %v", err)
				}
				waits, err := p.Waiting(t.Context())
				if err != nil {
					rt.Fatalf("%v", err)
				}
				held = append(held, waits...)
			}
		}
		return held
	}
	for _, x := range last() {
		// A clock that was set forward and back again: what it wrote is refused, or stands before what it rests on. Its owner says
		// when it was.
		if clocks && (x.File != "" || x.Entry != nil && x.Entry.Kind == casebook.KindEntryCorrected) {
			continue // it goes after its entry
		}
		if !clocks || x.Entry == nil || !strings.Contains(x.Next, "Correct ") {
			rt.Fatalf("%s waits: %s %s", x.Name, x.What, x.Next)
		}
		for _, p := range w.devices {
			if p.Account != x.Entry.Author {
				continue
			}
			e := entry(w.id(p.Now()), x.Case, p.Account, p.Now(), casebook.EntryCorrected{Action: "replace", At: w.now.Format(time.RFC3339Nano)})
			e.Corrects, e.Reason = x.Entry.ID, "the clock was wrong"
			if list := fold(t, p.Book(), x.Case); list.Line(x.Entry.ID) == nil {
				continue // of the other phone
			}
			write(p.Book(), e)
		}
	}
	for _, p := range w.devices {
		for _, f := range p.late {
			f()
		}
	}
	// Where a clock was put wrong and right again, what cannot both be so stays on the phone, with a sentence, and to be read
	// there. Nothing else waits.
	for _, x := range last() {
		if !clocks || x.What == "" || x.Next == "" || x.Entry == nil && x.File == "" {
			rt.Fatalf("%s still waits: %s %s", x.Name, x.What, x.Next)
		}
		if x.Entry != nil {
			w.waits[x.Entry.ID] = true
		}
	}
	w.agree(t, rt, written)
}

// agree holds the server and the devices to the same cases: every entry that was ever written stands there once.
func (w *world) agree(t *testing.T, to failing, written map[string]bool) {
	t.Helper()
	heads, err := w.desk.Book.Store.Cases(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]int{}
	for _, h := range heads {
		if casebook.Reserved(h.Case) {
			continue
		}
		c := fold(t, w.desk.Book, h.Case)
		for _, l := range c.Log {
			found[l.Entry.ID]++
			for _, name := range l.Entry.Blobs {
				if _, err := w.desk.Book.Blob(t.Context(), h.Case, name); err != nil {
					to.Errorf("at the server: %v", err)
				}
			}
		}
		for _, p := range w.devices {
			d := w.without(fold(t, p.Book(), h.Case))
			if len(w.waits) == 0 && d.Head != c.Head || len(d.Log) != len(c.Log) {
				to.Errorf("%s has another %s than the server: %d entries, not %d", p.ID, h.Case, len(d.Log), len(c.Log))
			}
			for _, l := range d.Log {
				for _, name := range l.Entry.Blobs {
					if _, err := p.Book().Blob(t.Context(), h.Case, name); err != nil {
						to.Errorf("on %s: %v", p.ID, err)
					}
				}
			}
		}
	}
	for id := range written {
		if found[id] != 1 && !(w.waits[id] && found[id] == 0) {
			to.Errorf("entry %s is there %d times", id, found[id])
		}
	}
	if r, err := w.desk.Book.Verify(t.Context()); err != nil || !r.Sound() || len(r.NotBrought) > 0 {
		to.Errorf("the server's store: %v %v %v", err, r.Defects, r.NotBrought)
	}
}

// without is a case without the entries that the server does not take.
func (w *world) without(c *casebook.Case) *casebook.Case {
	out := *c
	out.Log = slices.DeleteFunc(slices.Clone(c.Log), func(l casebook.Line) bool { return w.waits[l.Entry.ID] })
	return &out
}

// TestLawMeeting: whatever is cut, comes twice or comes late, nothing is lost, nothing is doubled, and all agree.
func TestLawMeeting(t *testing.T) {
	for range schedules() / 100 { // rapid tries 100 each time
		rapid.Check(t, func(rt *rapid.T) {
			schedule(t, rt, rapid.Uint64().Draw(rt, "seed"), rapid.IntRange(0, 9).Draw(rt, "sealed") == 0, rapid.IntRange(0, 2).Draw(rt, "clocks") == 0)
		})
		if t.Failed() {
			return
		}
	}
}
