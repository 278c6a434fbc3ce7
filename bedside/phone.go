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
	End    string    `json:"end,omitempty"`
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
	State    string    `json:"state"`
	Account  string    `json:"account,omitempty"`
	Unsent   int       `json:"unsent"`
	Refused  int       `json:"refused"`
	Since    int64     `json:"since,omitempty"`
	Until    int64     `json:"until,omitempty"`
	Sentence string    `json:"sentence,omitempty"`
	Prove    bool      `json:"prove,omitempty"`
	List     []refused `json:"list,omitempty"`
}

// refused is something that the server did not take.
type refused struct {
	Words    string `json:"words"`
	Sentence string `json:"sentence"`
}

// message is what the phone's page asks.
type message struct {
	Do     string `json:"do"`
	Phrase string `json:"phrase"`
	Sure   bool   `json:"sure"`
}

// do does what a page or the worker asks, and says how the phone is afterwards. What went wrong is a sentence.
func (p *phone) do(ctx context.Context, m message) status {
	p.doing.Lock()
	defer p.doing.Unlock()
	var err error
	switch m.Do {
	case "begin":
		err = p.begin(ctx, m.Phrase)
	case "unlock":
		err = p.unlock(ctx, m.Phrase)
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
	// The phrase is judged before anything is asked of the server.
	key, err := seal.NewPassphraseKey(phrase, rand.Reader)
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
	store.Close()
	if err := p.opened(ctx, l.person, key, g.UnlockedH); err != nil {
		return err
	}
	return p.meet(ctx)
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

// unlock opens the list of whoever knows its phrase.
func (p *phone) unlock(ctx context.Context, phrase string) error {
	names, err := browser.Names(vaults)
	if err != nil {
		return err
	}
	for _, name := range names {
		store, err := vault(name)
		if err != nil {
			return err
		}
		meta, there, err := store.KeyMeta(ctx)
		o, outboxErr := getOutbox(ctx, store)
		store.Close()
		if err := errors.Join(err, outboxErr); err != nil {
			return err
		}
		if !there || o.End != "" {
			continue
		}
		key, err := seal.PassphraseKey(phrase, meta)
		if errors.Is(err, seal.ErrWrongKey) {
			continue
		}
		if err != nil {
			return err
		}
		return p.opened(ctx, strings.TrimPrefix(name, vaults), key, 0)
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
	if o.End == "" && time.Since(o.Met) > alone {
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
	p.dev.SmallSince = p.dev.Now().AddDate(0, 0, -smallDays)
	res, err := p.dev.Meet(ctx)
	if errors.Is(err, meeting.ErrLost) {
		store := p.store
		if err := p.drop(ctx, store, lost); err != nil {
			return err
		}
		return p.lock()
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
	if err := store.Forget(ctx, cases, blobs); err != nil {
		return err
	}
	if err := store.PutNotes(ctx, gone); err != nil {
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
		store.Close()
		if err := errors.Join(err, waitErr); err != nil {
			return s, err
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
