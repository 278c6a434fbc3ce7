//go:build js && wasm

package main

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"time"

	"filippo.io/age"

	"lowtide/casebook/browser"
	"lowtide/casebook/memory"
	"lowtide/meeting"
	"lowtide/seal"
	"lowtide/web"
)

const (
	// vaults starts the name of the database of each account that keeps a list on this phone; its ID follows.
	vaults = "lowtide-phone-"
	// alone is how long a phone keeps its list without hearing from the server.
	alone = 72 * time.Hour
	// smallDays is for how long back photos are fetched, small.
	smallDays = 14
	// register is the reserved case whose key seals the phone's own notes.
	register = "~device"
)

// The notes of a vault. What is said of the outbox can be read while the phone is locked: it holds nothing of a patient.
const (
	noteOwn    = "own"
	noteOutbox = "outbox"
	noteLocks  = "locks"
)

// own is what a phone needs to be itself, sealed.
type own struct {
	Device string         `json:"device"`
	Key    []byte         `json:"key"`
	Self   string         `json:"self"`
	Ground meeting.Ground `json:"ground"`
}

// outbox is what a locked phone needs to send what waits. End says that the list cannot be opened any more, and why.
type outbox struct {
	Device string    `json:"device"`
	SelfTo string    `json:"self_to"`
	Met    time.Time `json:"met"`
	// Seen is the latest time that the phone's clock ever showed: setting it back prolongs nothing.
	Seen time.Time `json:"seen"`
	End  string    `json:"end,omitempty"`
}

// overdue tells whether the phone was out of reach of the server for too long.
func (o outbox) overdue(now time.Time) bool {
	if now.Before(o.Seen) {
		now = o.Seen
	}
	return o.End == "" && o.Device != "" && now.Sub(o.Met) > alone
}

// The states of a phone, as its page and its worker know them.
const (
	none     = "none"
	locked   = "locked"
	unlocked = "unlocked"
	lost     = "lost"
	dropped  = "dropped"
)

// said is an error in words for the nurse.
type said string

func (s said) Error() string { return string(s) }

// phone is the phone in the nurse's hand. The zero value keeps nothing.
type phone struct {
	// doing is held while the phone is begun, opened, locked or meets the server: one at a time.
	doing sync.Mutex

	mu      sync.Mutex
	account string
	store   *memory.Store
	keys    *seal.Keys
	dev     *meeting.Device
	own     own
	until   time.Time
	pages   *pages
	// signIn tells that the server was reached last time and knew nobody.
	signIn bool
}

// answer is what the worker and the phone's page are told.
type status struct {
	State    string `json:"state"`
	Account  string `json:"account,omitempty"`
	Unsent   int    `json:"unsent"`
	Refused  int    `json:"refused"`
	Since    int64  `json:"since,omitempty"`
	Until    int64  `json:"until,omitempty"`
	Sentence string `json:"sentence,omitempty"`
	Prove    bool   `json:"prove,omitempty"`
	// Locks are the passkeys that open a list of this phone, with what each is asked for.
	Locks []passkeyLock `json:"locks,omitempty"`
	List  []refused     `json:"list,omitempty"`
}

// refused is something that the server did not take.
type refused struct {
	Words    string `json:"words"`
	Sentence string `json:"sentence"`
}

// passkeyLock is a passkey by its credential's ID in base64url, and the salt that its secret is made for.
type passkeyLock struct {
	ID   string `json:"id"`
	Salt []byte `json:"salt"`
}

// message is what the phone's page asks. ID, Salt and Secret are of a passkey; bytes are in base64.
type message struct {
	Do     string `json:"do"`
	Phrase string `json:"phrase"`
	ID     string `json:"id"`
	Salt   []byte `json:"salt"`
	Secret []byte `json:"secret"`
	Sure   bool   `json:"sure"`
}

// do does what a page or the worker asks, and says how the phone is afterwards. What went wrong is a sentence.
func (p *phone) do(ctx context.Context, m message) status {
	p.doing.Lock()
	defer p.doing.Unlock()
	err := p.look(ctx)
	switch m.Do {
	case "begin":
		err = p.begin(ctx, m.Phrase)
	case "unlock":
		err = p.unlock(ctx, m)
	case "passkey":
		err = p.addPasskey(ctx, m)
	case "lock":
		err = p.lock()
	case "meet":
		err = p.meet(ctx)
		p.mu.Lock()
		p.signIn = err == signInFirst
		p.mu.Unlock()
	case "forget":
		err = p.forget(ctx, m.Sure)
	}
	s, stateErr := p.status(ctx)
	if err == nil {
		err = stateErr
	}
	var words said
	switch {
	case errors.As(err, &words):
		s.Sentence, s.Prove = string(words), words == proveFirst
	case errors.Is(err, meeting.ErrTold):
		s.Sentence = strings.TrimPrefix(err.Error(), meeting.ErrTold.Error()+": ")
	case errors.Is(err, errNoLine):
		if m.Do != "state" {
			s.Sentence = "The server does not answer. What you wrote is kept here, and sent when it does."
		}
	case err != nil:
		s.Sentence = "That did not work: " + err.Error()
	}
	return s
}

// resume opens the list again that was open when the worker was last stopped, for as long as it stays open.
func (p *phone) resume(ctx context.Context) error {
	kept, err := await(jsGlobal("lowtideKept").Invoke())
	if err != nil || kept.IsNull() {
		return err
	}
	key, err := seal.ParseKey(bytesOf(kept.Get("raw")))
	if err != nil {
		return err
	}
	return p.open(ctx, kept.Get("account").String(), key, time.UnixMilli(int64(kept.Get("until").Float())))
}

// begin makes a list of the person who is signed in at the server.
func (p *phone) begin(ctx context.Context, phrase string) error {
	if err := p.lock(); err != nil {
		return err
	}
	public, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return err
	}
	self, err := age.GenerateX25519Identity()
	if err != nil {
		return err
	}
	key, err := seal.NewKey(rand.Reader)
	if err != nil {
		return err
	}
	// The phrase is judged before anything is asked of the server.
	locks, err := seal.Locks(nil).WithPhrase(key, phrase, rand.Reader)
	if errors.Is(err, seal.ErrShort) {
		return said(fmt.Sprintf("The phrase is too short: take at least %d letters, such as four words.", seal.MinPassphrase))
	}
	if err != nil {
		return err
	}
	l := &line{}
	var added meeting.Added
	if err := l.Ask(ctx, meeting.PathPhone, meeting.AddPhone{Label: "phone of " + time.Now().Format("2 January 2006, 15:04"), Key: public}, &added); err != nil {
		return err
	}
	if added.What != "" {
		return said(added.What)
	}
	var g meeting.Ground
	if err := l.Ask(ctx, meeting.PathGround, meeting.GroundAsked{Hello: meeting.Hello{Version: meeting.Version, Device: added.Device, Now: time.Now()}}, &g); err != nil {
		return err
	}
	if g.What != "" {
		return said(g.What)
	}
	name := vaults + l.person
	if err := p.clearEnded(ctx, name); err != nil {
		return err
	}
	held, keeper, err := browser.Open(name)
	if err != nil {
		return err
	}
	if held.Meta.ID != "" {
		keeper.Close()
		return said("Your list is on this phone already. Open it with its phrase, or take it off first.")
	}
	store, err := memory.Through(held, keeper)
	if err != nil {
		return err
	}
	defer store.Close()
	keys, err := seal.Start(ctx, store, key, rand.Reader)
	if err != nil {
		return err
	}
	me := own{Device: added.Device, Key: private.Seed(), Self: self.String(), Ground: g}
	if err := putOwn(ctx, store, keys, me); err != nil {
		return err
	}
	if err := putOutbox(ctx, store, outbox{Device: added.Device, SelfTo: self.Recipient().String(), Met: time.Now()}); err != nil {
		return err
	}
	if err := putLocks(ctx, store, locks); err != nil {
		return err
	}
	store.Close()
	if err := p.opened(ctx, l.person, key, g.UnlockedH); err != nil {
		return err
	}
	return p.meet(ctx)
}

// clearEnded makes room for a new list where one has ended. What waits in it is sent first.
func (p *phone) clearEnded(ctx context.Context, name string) error {
	store, err := vault(name)
	if err != nil {
		return err
	}
	o, err := getOutbox(ctx, store)
	store.Close()
	if err != nil || o.End == "" {
		return err
	}
	if err := p.sendOf(ctx, name); err != nil {
		return err
	}
	if store, err = vault(name); err != nil {
		return err
	}
	waits, err := store.NoteNames(ctx, "out/")
	store.Close()
	if err != nil {
		return err
	}
	if n := len(waits); n > 0 {
		return said(fmt.Sprintf("%d of what was written here is not at the server yet. An administrator can say on your account's page that the phone was found; then it is sent. Or take the list off this phone.", n))
	}
	return browser.Remove(name)
}

func putLocks(ctx context.Context, store *memory.Store, locks seal.Locks) error {
	raw, err := locks.Bytes()
	if err != nil {
		return err
	}
	return store.PutNotes(ctx, map[string][]byte{noteLocks: raw})
}

func getLocks(ctx context.Context, store *memory.Store) (seal.Locks, error) {
	raw, err := store.Note(ctx, noteLocks)
	if err != nil || raw == nil {
		return nil, err
	}
	return seal.ReadLocks(raw)
}

// addPasskey lets a passkey open the list that is open now.
func (p *phone) addPasskey(ctx context.Context, m message) error {
	if p.dev == nil {
		return said("Open your list first.")
	}
	locks, err := getLocks(ctx, p.store)
	if err == nil {
		locks, err = locks.WithSecret(p.keys.Key(), m.ID, m.Salt, m.Secret, rand.Reader)
	}
	if err != nil {
		return err
	}
	return putLocks(ctx, p.store, locks)
}

func putOwn(ctx context.Context, store *memory.Store, keys *seal.Keys, me own) error {
	raw, err := json.Marshal(me)
	if err == nil {
		raw, err = keys.SealBlob(ctx, register, raw)
	}
	if err != nil {
		return err
	}
	return store.PutNotes(ctx, map[string][]byte{noteOwn: raw})
}

func putOutbox(ctx context.Context, store *memory.Store, o outbox) error {
	raw, err := json.Marshal(o)
	if err != nil {
		return err
	}
	return store.PutNotes(ctx, map[string][]byte{noteOutbox: raw})
}

func getOutbox(ctx context.Context, store *memory.Store) (o outbox, err error) {
	raw, err := store.Note(ctx, noteOutbox)
	if err == nil && raw != nil {
		err = json.Unmarshal(raw, &o)
	}
	return o, err
}

// unlock opens the list of whoever knows its phrase, or has its passkey.
func (p *phone) unlock(ctx context.Context, m message) error {
	names, err := browser.Names(vaults)
	if err != nil {
		return err
	}
	for _, name := range names {
		store, err := vault(name)
		if err != nil {
			return err
		}
		locks, err := getLocks(ctx, store)
		store.Close()
		if err != nil {
			return err
		}
		var key seal.Key
		if len(m.Secret) > 0 {
			key, err = locks.OpenSecret(m.ID, m.Secret)
		} else {
			key, err = locks.OpenPhrase(m.Phrase)
		}
		if errors.Is(err, seal.ErrWrongKey) || errors.Is(err, seal.ErrNoLock) {
			continue
		}
		if err != nil {
			return err
		}
		return p.opened(ctx, strings.TrimPrefix(name, vaults), key, 0)
	}
	if len(m.Secret) > 0 {
		return said("No list on this phone opens with that passkey. Take your phrase.")
	}
	return said("No list on this phone opens with that phrase. Type it again, with its spaces.")
}

func vault(name string) (*memory.Store, error) {
	held, keeper, err := browser.Open(name)
	if err != nil {
		return nil, err
	}
	store, err := memory.Through(held, keeper)
	if err != nil {
		keeper.Close()
	}
	return store, err
}

// opened opens a list for the hours that the agency sets, and lets the browser keep its key so long.
func (p *phone) opened(ctx context.Context, account string, key seal.Key, hours int) error {
	if err := p.open(ctx, account, key, time.Now().Add(24*time.Hour)); err != nil {
		return err
	}
	if hours == 0 {
		hours = p.own.Ground.UnlockedH
	}
	p.mu.Lock()
	p.until = time.Now().Add(time.Duration(hours) * time.Hour)
	p.mu.Unlock()
	_, err := await(jsGlobal("lowtideKeep").Invoke(arrayOf([]byte(key.Text())), account, float64(p.until.UnixMilli())))
	return err
}

// open opens a list with its key.
func (p *phone) open(ctx context.Context, account string, key seal.Key, until time.Time) error {
	store, err := vault(vaults + account)
	if err != nil {
		return err
	}
	keys, err := seal.Open(ctx, store, key, rand.Reader)
	if err != nil {
		store.Close()
		return err
	}
	o, err := getOutbox(ctx, store)
	if err != nil {
		return err
	}
	if o.overdue(time.Now()) {
		if err := p.drop(ctx, store, dropped); err != nil {
			return err
		}
		return said("This phone was out of reach of the server for three days, so its list was taken off it. What waits is sent when there is a network; then set the phone up again.")
	}
	raw, err := store.Note(ctx, noteOwn)
	if err == nil {
		raw, err = keys.OpenBlob(ctx, register, raw)
	}
	var me own
	if err == nil {
		err = json.Unmarshal(raw, &me)
	}
	if err != nil {
		return err
	}
	p.mu.Lock()
	p.account, p.store, p.keys, p.own, p.until = account, store, keys, me, until
	p.mu.Unlock()
	return p.ready(ctx)
}

// ready makes the device's half of a meeting and the pages, of what is known now.
func (p *phone) ready(ctx context.Context) error {
	to, err := age.ParseX25519Recipient(p.own.Ground.To)
	if err != nil {
		return err
	}
	self, err := age.ParseX25519Identity(p.own.Self)
	if err != nil {
		return err
	}
	dev := &meeting.Device{
		Outbox:  meeting.Outbox{ID: p.own.Device, Shelf: p.store, Line: &line{}, Clock: time.Now, SelfTo: self.Recipient()},
		Account: p.own.Ground.Account, Sealer: p.keys, Key: ed25519.NewKeyFromSeed(p.own.Key), To: to, Self: self, Random: rand.Reader,
	}
	if err := dev.Recall(ctx); err != nil {
		return err
	}
	made, err := newPages(p, dev)
	if err != nil {
		return err
	}
	p.mu.Lock()
	p.dev, p.pages = dev, made
	p.mu.Unlock()
	return nil
}

// lock shuts the list at once.
func (p *phone) lock() error {
	p.mu.Lock()
	store := p.store
	p.store, p.keys, p.dev, p.pages, p.own, p.until = nil, nil, nil, nil, own{}, time.Time{}
	p.mu.Unlock()
	_, err := await(jsGlobal("lowtideDrop").Invoke())
	if store != nil {
		err = errors.Join(err, store.Close())
	}
	return err
}

// meet sends what waits and fetches what is new. While the list is locked it only sends.
func (p *phone) meet(ctx context.Context) error {
	if p.dev == nil {
		return p.sendLocked(ctx)
	}
	before, err := p.store.Mark(ctx)
	if err != nil {
		return err
	}
	// Also when nobody is signed in at the server.
	if gone, err := p.word(ctx, p.store); err != nil || gone {
		return errors.Join(err, p.lockIf(gone))
	}
	p.dev.SmallSince = p.dev.Now().AddDate(0, 0, -smallDays)
	res, err := p.dev.Meet(ctx)
	if errors.Is(err, meeting.ErrLost) {
		return errors.Join(p.drop(ctx, p.store, lost), p.lock())
	}
	if err != nil {
		return err
	}
	if err := putOutbox(ctx, p.store, outbox{Device: p.own.Device, SelfTo: p.dev.SelfTo.(*age.X25519Recipient).String(), Met: time.Now()}); err != nil {
		return err
	}
	if res.Ground != p.own.Ground.Mark {
		var g meeting.Ground
		if err := p.dev.Line.Ask(ctx, meeting.PathGround, meeting.GroundAsked{Hello: meeting.Hello{Version: meeting.Version, Device: p.own.Device, Now: time.Now()}}, &g); err != nil {
			return err
		}
		if g.What != "" {
			return said(g.What)
		}
		me := p.own
		me.Ground = g
		if err := putOwn(ctx, p.store, p.keys, me); err != nil {
			return err
		}
		p.mu.Lock()
		p.own = me
		p.mu.Unlock()
		return p.ready(ctx)
	}
	// Cases that were let go make the chain anew, and what was read of it before does not count.
	if after, err := p.store.Mark(ctx); err != nil || after.Count < before.Count {
		return errors.Join(err, p.ready(ctx))
	}
	return nil
}

func (p *phone) lockIf(gone bool) error {
	if !gone {
		return nil
	}
	return p.lock()
}

// word asks the server whether this phone was lost, which it says to anybody, and drops the list then. Whatever it says is
// a contact.
func (p *phone) word(ctx context.Context, store *memory.Store) (gone bool, err error) {
	o, err := getOutbox(ctx, store)
	if err != nil || o.Device == "" || o.End != "" {
		return false, err
	}
	var w meeting.Word
	if err := (&line{}).Ask(ctx, meeting.PathWord, meeting.WordAsked{Hello: meeting.Hello{Version: meeting.Version, Device: o.Device, Now: time.Now()}}, &w); err != nil {
		return false, err
	}
	if w.Lost {
		return true, p.drop(ctx, store, lost)
	}
	o.Met, o.Seen = time.Now(), time.Now()
	return false, putOutbox(ctx, store, o)
}

// look drops every list that was out of reach of the server for too long, also while it is locked, and locks one that was
// open long enough.
func (p *phone) look(ctx context.Context) error {
	p.mu.Lock()
	over := p.store != nil && time.Now().After(p.until)
	p.mu.Unlock()
	if over {
		if err := p.lock(); err != nil {
			return err
		}
	}
	names, err := browser.Names(vaults)
	if err != nil {
		return err
	}
	for _, name := range names {
		p.mu.Lock()
		store, open := p.store, name == vaults+p.account
		p.mu.Unlock()
		if open = open && store != nil; !open {
			if store, err = vault(name); err != nil {
				return err
			}
		}
		over, err := p.lookAt(ctx, store)
		if !open {
			err = errors.Join(err, store.Close())
		} else if over {
			err = errors.Join(err, p.lock())
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// seenEvery is how often the time that the clock shows is noted.
const seenEvery = 10 * time.Minute

func (p *phone) lookAt(ctx context.Context, store *memory.Store) (over bool, err error) {
	o, err := getOutbox(ctx, store)
	if err != nil || o.Device == "" || o.End != "" {
		return false, err
	}
	now := time.Now()
	if o.overdue(now) {
		return true, p.drop(ctx, store, dropped)
	}
	if now.Sub(o.Seen) < seenEvery {
		return false, nil
	}
	o.Seen = now
	return false, putOutbox(ctx, store, o)
}

// sendLocked sends what waits in all lists of this phone; it can be sent without being read.
func (p *phone) sendLocked(ctx context.Context) error {
	names, err := browser.Names(vaults)
	if err != nil {
		return err
	}
	for _, name := range names {
		if err := p.sendOf(ctx, name); err != nil {
			return err
		}
	}
	return nil
}

func (p *phone) sendOf(ctx context.Context, name string) error {
	store, err := vault(name)
	if err != nil {
		return err
	}
	defer store.Close()
	o, err := getOutbox(ctx, store)
	if err != nil || o.Device == "" {
		return err
	}
	if gone, err := p.word(ctx, store); err != nil || gone {
		return err
	}
	if waits, err := store.NoteNames(ctx, "out/"); err != nil || len(waits) == 0 {
		return err // nobody needs to be signed in for nothing
	}
	out := meeting.Outbox{ID: o.Device, Shelf: store, Line: &line{}, Clock: time.Now}
	if to, err := age.ParseX25519Recipient(o.SelfTo); err == nil {
		out.SelfTo = to
	}
	if err := out.Send(ctx); !errors.Is(err, meeting.ErrLost) || o.End != "" {
		return err
	}
	return p.drop(ctx, store, lost)
}

// drop takes everything off a vault but what waits to be sent, which only the server can read.
func (p *phone) drop(ctx context.Context, store *memory.Store, why string) error {
	keys, err := store.CaseKeys(ctx)
	if err != nil {
		return err
	}
	var cases []string
	for _, k := range keys {
		cases = append(cases, k.Case)
	}
	blobs, err := store.BlobHashes(ctx)
	if err != nil {
		return err
	}
	names, err := store.NoteNames(ctx, "")
	if err != nil {
		return err
	}
	o, err := getOutbox(ctx, store)
	if err != nil {
		return err
	}
	gone := map[string][]byte{}
	for _, name := range names {
		if !strings.HasPrefix(name, "out/") {
			gone[name] = nil
		}
	}
	o.End, o.SelfTo = why, "" // nobody is left to read what the server answers
	if gone[noteOutbox], err = json.Marshal(o); err != nil {
		return err
	}
	// The locks go first: what is cut short after that leaves only what nobody can open.
	if err := store.PutNotes(ctx, gone); err != nil {
		return err
	}
	if err := store.Forget(ctx, cases, blobs); err != nil {
		return err
	}
	_, err = await(jsGlobal("lowtideDrop").Invoke())
	return err
}

// forget takes lists off this phone: the one that is open, or all of them while it is locked.
func (p *phone) forget(ctx context.Context, sure bool) error {
	s, err := p.status(ctx)
	if err != nil {
		return err
	}
	if n := s.Unsent + s.Refused; n > 0 && !sure {
		return said(fmt.Sprintf("%d of what you wrote is not at the server and would be lost. Send it first. If you mean it all the same, press Take it off again.", n))
	}
	names := []string{vaults + p.account}
	if p.dev == nil {
		if names, err = browser.Names(vaults); err != nil {
			return err
		}
	}
	if err := p.lock(); err != nil {
		return err
	}
	for _, name := range names {
		if err := browser.Remove(name); err != nil {
			return err
		}
	}
	return nil
}

// status says how the phone is.
func (p *phone) status(ctx context.Context) (status, error) {
	p.mu.Lock()
	store, dev := p.store, p.dev
	s := status{State: locked, Account: p.account, Until: 0}
	if !p.until.IsZero() {
		s.Until = p.until.UnixMilli()
	}
	p.mu.Unlock()
	if dev == nil {
		return p.statusLocked(ctx)
	}
	s.State = unlocked
	if o, err := getOutbox(ctx, store); err == nil {
		s.Since = o.Met.UnixMilli()
	}
	waits, err := dev.Waiting(ctx)
	if err != nil {
		return s, err
	}
	files := 0
	for _, w := range waits {
		switch {
		case w.What != "":
			s.Refused++
			s.List = append(s.List, refused{waitWords(w), strings.TrimSpace(w.What + " " + w.Next)})
		case w.File != "":
			files++
		default:
			s.Unsent++
		}
	}
	if s.Unsent == 0 {
		s.Unsent = files
	}
	return s, nil
}

func (p *phone) statusLocked(ctx context.Context) (s status, err error) {
	s.State = none
	names, err := browser.Names(vaults)
	if err != nil {
		return s, err
	}
	for _, name := range names {
		store, err := vault(name)
		if err != nil {
			return s, err
		}
		o, err := getOutbox(ctx, store)
		waits, waitErr := store.NoteNames(ctx, "out/entry/")
		locks, lockErr := getLocks(ctx, store)
		store.Close()
		if err := errors.Join(err, waitErr, lockErr); err != nil {
			return s, err
		}
		for _, l := range locks {
			if l.Kind == seal.ByPasskey {
				s.Locks = append(s.Locks, passkeyLock{l.ID, l.Salt})
			}
		}
		s.Unsent += len(waits)
		if s.State != locked {
			s.State = locked
			if o.End != "" {
				s.State = o.End
			}
		}
		if o.End == "" {
			s.State = locked
		}
	}
	return s, nil
}

// aboard is what pages say of the phone.
func (p *phone) aboard() web.Aboard {
	s, err := p.status(context.Background())
	a := web.Aboard{Unsent: s.Unsent, Refused: s.Refused}
	p.mu.Lock()
	defer p.mu.Unlock()
	if err == nil && s.Since != 0 && p.dev != nil {
		a.Since = time.UnixMilli(s.Since).Add(-p.dev.Ahead) // by the server's clock, like every other time on a page
	}
	a.SignIn = p.signIn
	return a
}

// handler answers requests: with the pages of the open list, or with the one that opens it.
func (p *phone) handler() http.Handler {
	shut := web.Locked()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		p.mu.Lock()
		made, until := p.pages, p.until
		p.mu.Unlock()
		if made == nil || time.Now().After(until) {
			shut.ServeHTTP(w, r)
			return
		}
		made.ServeHTTP(w, r)
	})
}

// firstKey is the key of the page that is painted before this program runs; nil while the phone is locked.
func (p *phone) firstKey(ctx context.Context) []byte {
	p.mu.Lock()
	keys := p.keys
	p.mu.Unlock()
	if keys == nil {
		return nil
	}
	raw, err := keys.Secret(ctx, "first page")
	if err != nil {
		return nil
	}
	return raw
}
