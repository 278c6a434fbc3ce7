//go:build js && wasm

package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing/fstest"
	"time"

	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/meeting"
	"lowtide/rule"
	"lowtide/trouble"
	"lowtide/web"
	"lowtide/wording"
)

// pages are the program's pages over the list of one person.
type pages struct {
	http.Handler
	load *caseload.Caseload
	now  func() time.Time
}

// newPages makes the pages of what the phone knows now: its rules are the agency's own.
func newPages(p *phone, dev *meeting.Device) (*pages, error) {
	g := p.own.Ground
	rules, err := builtin()
	if err != nil {
		return nil, err
	}
	local := fstest.MapFS{}
	for name, content := range g.Files {
		if rest, ok := strings.CutPrefix(name, "local/"); ok {
			local[rest] = &fstest.MapFile{Data: content}
		}
	}
	calls := trouble.BuiltIn()
	if len(local) > 0 {
		if rules, err = rules.WithLocal(local); err != nil {
			return nil, fmt.Errorf("the local protocol: %w", err)
		}
		if raw, ok := local[trouble.LocalFile]; ok {
			if calls, err = calls.WithLocal(raw.Data); err != nil {
				return nil, fmt.Errorf("the local protocol: %w", err)
			}
		}
	}
	eq := equipment.BuiltIn()
	if raw, ok := g.Files["equipment.toml"]; ok {
		if eq, err = equipment.Parse(raw); err != nil {
			return nil, fmt.Errorf("the equipment: %w", err)
		}
	}
	zone, err := time.LoadLocation(g.Zone)
	if err != nil {
		zone = time.Local
	}
	load := caseload.New(dev.Book(), rules, eq)
	load.Shelf, load.Program = rows{p.store}, jsGlobal("lowtideBuild").Get("mark").String()
	srv := &web.Server{Caseload: load, Rules: rules, Equipment: eq, Calls: calls, Now: dev.Now, Random: rand.Reader, Zone: zone, Author: g.Account, Aboard: p.aboard,
		Hosts: []string{jsGlobal("location").Get("hostname").String()}}
	h, err := signedIn(srv)
	if err != nil {
		return nil, err
	}
	return &pages{h, load, dev.Now}, nil
}

// turn is how long the program works without letting the worker answer anything else.
const turn = 200 * time.Millisecond

// mostTurns bounds how long it works without being asked.
const mostTurns = 500

// until is a context that ends at a time by the clock: timers do not run while this program computes.
type until struct {
	context.Context
	at time.Time
}

func (u until) Err() error {
	if time.Now().After(u.at) {
		return context.DeadlineExceeded
	}
	return u.Context.Err()
}

// rest works out the rows of Rounds that are not ready, in turns, and keeps them for the next start.
func (p *pages) rest(ctx context.Context) error {
	for range mostTurns {
		_, pending, err := p.load.Rows(until{ctx, time.Now().Add(turn)}, p.now())
		if err != nil && !errors.Is(err, context.DeadlineExceeded) {
			return err
		}
		if err == nil && pending == 0 {
			break
		}
		time.Sleep(turn / 5)
	}
	return p.load.SaveRows(ctx)
}

// builtin reads the rules once.
var builtin = func() func() (*rule.Set, error) {
	var set *rule.Set
	return func() (*rule.Set, error) {
		if set != nil {
			return set, nil
		}
		s, err := rule.Builtin()
		if err == nil {
			set = s
		}
		return s, err
	}
}()

// signedIn is the server's handler for the one person whose list this is: each request comes with her session.
func signedIn(srv *web.Server) (http.Handler, error) {
	h := srv.Handler()
	link, err := srv.NewLink()
	if err != nil {
		return nil, err
	}
	r, err := http.NewRequest(http.MethodGet, link, nil)
	if err != nil {
		return nil, err
	}
	r.Host = jsGlobal("location").Get("host").String()
	w := &answer{header: http.Header{}}
	h.ServeHTTP(w, r)
	cookies := (&http.Response{Header: w.header}).Cookies()
	if len(cookies) == 0 {
		return nil, fmt.Errorf("the program does not let its own person in: %d", w.status)
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.AddCookie(&http.Cookie{Name: cookies[0].Name, Value: cookies[0].Value})
		h.ServeHTTP(w, r)
	}), nil
}

// rows keeps the rows of Rounds beside the records, so that a start does not review every case again. They are sealed under
// the keys of their cases.
type rows struct{ store *memory.Store }

const noteRow = "row/"

// Each implements [caseload.Shelf].
func (r rows) Each(ctx context.Context, use func(caseID string, sealed []byte)) error {
	names, err := r.store.NoteNames(ctx, noteRow)
	if err != nil {
		return err
	}
	var wrong error
	for _, name := range names {
		sealed, err := r.store.Note(ctx, name)
		if err != nil {
			wrong = errors.Join(wrong, err)
			continue
		}
		use(strings.TrimPrefix(name, noteRow), sealed)
	}
	return wrong
}

// Keep implements [caseload.Shelf].
func (r rows) Keep(ctx context.Context, list map[string][]byte) error {
	notes := make(map[string][]byte, len(list))
	for id, sealed := range list {
		notes[noteRow+id] = sealed
	}
	if len(notes) == 0 {
		return nil
	}
	return r.store.PutNotes(ctx, notes)
}

// waitWords say what something is that waits.
func waitWords(w meeting.Wait) string {
	switch {
	case w.File != "":
		return "A photo or log."
	case w.Entry == nil:
		return "An entry."
	}
	return wording.Kind(w.Entry.Kind) + ", " + w.Entry.At.Format("2 January 15:04") + "."
}
