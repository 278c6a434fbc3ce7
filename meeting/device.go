package meeting

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"filippo.io/age"

	"lowtide/casebook"
)

// Shelf is what a device keeps: a store with its keys, and notes beside it.
type Shelf interface {
	casebook.Store
	casebook.KeyStore
	// AppendWith is Append that also keeps notes, when a record is new: both or neither.
	AppendWith(ctx context.Context, caseID, head string, notes map[string][]byte, records ...casebook.Record) (string, error)
	// PutNotes keeps notes, all or none; one without bytes is taken away. Note gives one back, nil when there is none.
	PutNotes(ctx context.Context, notes map[string][]byte) error
	Note(ctx context.Context, name string) ([]byte, error)
	NoteNames(ctx context.Context, prefix string) ([]string, error)
	// Forget drops cases with their keys and blobs.
	Forget(ctx context.Context, cases, blobs []string) error
}

// Names of notes. What is out is sealed to the server, and everything else to the device.
const (
	outEntry = "out/entry/"
	outFile  = "out/file/"
	noteNo   = "no/"
	noteRead = "read/"
	noteGone = "gone/"
	noteHold = "hold/"
)

// own is the reserved case whose key seals the device's own notes.
const own = "~device"

// Device is the device's half, for a device that is unlocked. See [Outbox] for one that is locked.
type Device struct {
	Outbox
	// Account is the owner, who writes here.
	Account string
	// Sealer seals what the shelf keeps.
	Sealer casebook.Sealer
	// Key signs, To is the server, and Self opens what the outbox noted while the device was locked.
	Key    ed25519.PrivateKey
	To     age.Recipient
	Self   age.Identity
	Random io.Reader
	// Ahead is by how much the device's clock was ahead at the last meeting, which Met tells; zero when it never met.
	Ahead time.Duration
	Met   time.Time
	// SmallSince is from when on photos are fetched, small; zero for none.
	SmallSince time.Time
}

// Outbox is what waits on a device. It can be sent also while the device is locked.
type Outbox struct {
	ID    string
	Shelf Shelf
	// Line asks the server.
	Line Line
	// Clock is the device's own clock.
	Clock func() time.Time
	// SelfTo seals what the server says of entries to the device itself; nil when there is nobody left to read it.
	SelfTo age.Recipient
}

// Line asks the server one question. in and out are of this package. An error says that there may have been no answer; the
// server may have done what was asked all the same.
type Line interface {
	Ask(ctx context.Context, path string, in, out any) error
}

// The paths of questions.
const (
	PathList  = "/meet/list"
	PathPart  = "/meet/case"
	PathPush  = "/meet/push"
	PathSmall = "/meet/small"
	// These are asked by whoever holds the device; see package phone.
	PathWord   = "/meet/word"
	PathPhone  = "/meet/phone"
	PathGround = "/meet/ground"
)

// ErrTold: the server answered with a sentence and did nothing. ErrLost: it said that this device is lost.
var (
	ErrTold = errors.New("meeting: the server said")
	ErrLost = errors.New("meeting: this phone was reported lost")
)

// told turns what the server says first into an error.
func (w Word) told() error {
	switch {
	case w.Lost:
		return ErrLost
	case w.What != "":
		return fmt.Errorf("%w: %s", ErrTold, w.What)
	case w.Version > Version:
		return fmt.Errorf("%w: %s", ErrTold, "The server's program is newer than the one on this phone. Open Lowtide once while there is a network; nothing is lost.")
	}
	return nil
}

func (o *Outbox) hello(ctx context.Context) (Hello, error) {
	n, err := o.Shelf.NoteNames(ctx, "out/")
	return Hello{Version: Version, Device: o.ID, Now: o.Clock(), Unsent: len(n)}, err
}

// maxOfPush bounds the entries of one request.
const maxOfPush = 32

// Send sends what waits: entries in the order in which they were written, then files, small ones first. What was refused
// before is sent again, since the answer may be another now.
func (o *Outbox) Send(ctx context.Context) error {
	for _, prefix := range []string{outEntry, outFile} {
		names, err := o.Shelf.NoteNames(ctx, prefix)
		if err == nil {
			names, err = o.notHeld(ctx, names)
		}
		if err != nil {
			return err
		}
		for len(names) > 0 {
			n, err := o.push(ctx, names)
			if err != nil {
				return err
			}
			names = names[n:]
		}
	}
	return nil
}

// notHeld leaves out what the server asked not to be sent before it is corrected.
func (o *Outbox) notHeld(ctx context.Context, names []string) (out []string, err error) {
	for i, name := range names {
		held, err := o.Shelf.Note(ctx, noteHold+name)
		if err != nil {
			return nil, err
		}
		if held == nil || i+1 < len(names) && goesAlong(names[i+1]) {
			out = append(out, name)
		}
	}
	return out, nil
}

// push sends the first of the names, as many as fit into a step, and returns how many.
func (o *Outbox) push(ctx context.Context, names []string) (n int, err error) {
	var p Push
	if p.Hello, err = o.hello(ctx); err != nil {
		return 0, err
	}
	size := 0
	for _, name := range names {
		sealed, err := o.Shelf.Note(ctx, name)
		if err != nil {
			return 0, err
		}
		if size += len(sealed); n > 0 && (n >= maxOfPush || size > MostOfStep) && !goesAlong(name) {
			break
		}
		n++
		if len(sealed) > 0 {
			p.Envelopes = append(p.Envelopes, Sealed{Name: name, Bytes: sealed})
		}
	}
	var got Pushed
	if err := o.Line.Ask(ctx, PathPush, p, &got); err != nil {
		return 0, err
	}
	if err := got.told(); err != nil {
		return 0, err
	}
	notes := map[string][]byte{}
	for _, x := range got.Outcomes {
		if !strings.HasPrefix(x.Name, "out/") {
			continue
		}
		notes[noteNo+x.Name], notes[noteHold+x.Name] = nil, nil
		if x.Hold {
			notes[noteHold+x.Name] = []byte("1")
		}
		switch {
		case x.Kept:
			notes[x.Name] = nil
		case x.What != "" && o.SelfTo != nil:
			// The sentence can hold what was written.
			raw, err := json.Marshal(x)
			if err == nil {
				raw, err = sealFor(raw, o.SelfTo)
			}
			if err != nil {
				return 0, err
			}
			notes[noteNo+x.Name] = raw
		}
	}
	return n, o.Shelf.PutNotes(ctx, notes)
}

// Book is the casebook in which the owner writes: what she writes waits in the outbox from the same step on.
func (d *Device) Book() casebook.Book {
	return casebook.Book{Store: writing{d.Shelf, d}, Sealer: d.Sealer}
}

// read is the casebook for what comes from the server.
func (d *Device) read() casebook.Book { return casebook.Book{Store: d.Shelf, Sealer: d.Sealer} }

// writing is the shelf for what is written on this device.
type writing struct {
	Shelf
	d *Device
}

// Append implements [casebook.Store].
func (w writing) Append(ctx context.Context, caseID, head string, records ...casebook.Record) (string, error) {
	notes := map[string][]byte{}
	for _, r := range records {
		if err := w.d.putOut(ctx, r, notes); err != nil {
			return "", err
		}
	}
	return w.Shelf.AppendWith(ctx, caseID, head, notes, records...)
}

// putOut puts the envelopes of a record that is about to be kept, and of the files that it names, into notes.
func (d *Device) putOut(ctx context.Context, r casebook.Record, notes map[string][]byte) error {
	if _, call := casebook.DeskCallOf(r.Case); casebook.Reserved(r.Case) && !call {
		return nil
	}
	raw := r.Bytes
	if d.Sealer != nil {
		var err error
		if raw, err = d.Sealer.Open(ctx, nil, r); err != nil {
			return err
		}
	}
	e, err := casebook.DecodeRecord(casebook.Record{ID: r.ID, Case: r.Case, Bytes: raw})
	if err != nil || e.Author != d.Account {
		return err
	}
	place, err := d.place(ctx, e, len(notes))
	if err != nil {
		return err
	}
	name := outEntry + place + "/" + r.Case + "/" + r.ID
	if notes[name], err = (Envelope{Device: d.ID, Entry: raw}).SealTo(d.To, d.Key); err != nil {
		return err
	}
	for _, blob := range e.Blobs {
		content, err := d.read().Blob(ctx, r.Case, blob)
		if errors.Is(err, casebook.ErrNotFound) {
			continue // it moved in with its entry, and is at the server
		}
		if err != nil {
			return err
		}
		name := fmt.Sprintf("%s%012d/%s/%s", outFile, len(content), r.Case, blob)
		if notes[name], err = (Envelope{Device: d.ID, Case: r.Case, File: blob, Content: content}).SealTo(d.To, d.Key); err != nil {
			return err
		}
	}
	return nil
}

// nameParts are the case and the entry's ID or the file's name in the name of something that waits.
func nameParts(name string) (caseID, id string) {
	_, rest, _ := strings.Cut(strings.TrimPrefix(name, "out/"), "/")
	_, rest, _ = strings.Cut(rest, "/")
	at := max(strings.LastIndex(rest, "/"), 0)
	return rest[:at], strings.TrimPrefix(rest[at:], "/")
}

func isStale(err error) bool { return errors.Is(err, casebook.ErrStale) }

// along marks the place of a correction that goes together with the entry whose time it sets right: without it the server
// would not take that.
const along = "b" // sorts after the slash that ends the place of the entry itself

func goesAlong(name string) bool {
	place, _, _ := strings.Cut(strings.TrimPrefix(name, outEntry), "/")
	return strings.HasSuffix(place, along)
}

// place is where an entry stands in the outbox: after all others, or after the one whose time it sets right. IDs cannot give
// the order, since they are made by the clock, which may be wrong.
func (d *Device) place(ctx context.Context, e casebook.Entry, more int) (string, error) {
	names, err := d.Shelf.NoteNames(ctx, outEntry)
	if err != nil {
		return "", err
	}
	if b, ok := e.Body.(casebook.EntryCorrected); ok && b.Action == "replace" && b.At != "" && b.Body == nil {
		for _, name := range names {
			if _, id := nameParts(name); id == e.Corrects {
				place, _, _ := strings.Cut(strings.TrimPrefix(name, outEntry), "/")
				return place + along, nil
			}
		}
	}
	last := 0
	if n := len(names); n > 0 {
		place, _, _ := strings.Cut(strings.TrimPrefix(names[n-1], outEntry), "/")
		if last, err = strconv.Atoi(strings.TrimRight(place, along)); err != nil {
			return "", fmt.Errorf("meeting: %q is no name of the outbox: %w", names[n-1], casebook.ErrBroken)
		}
	}
	return fmt.Sprintf("%012d", last+1+more), nil
}

// Result says what a meeting brought.
type Result struct {
	// Word is what the server said first: its clock, and whether the device is lost.
	Word Word
	// Ground is the mark of what the device needs beside the cases.
	Ground string
	// Fresh counts entries that came.
	Fresh int
	// Ahead is by how much the device's clock is ahead.
	Ahead time.Duration
}

// Meet does all steps in order. Whatever an error cut short is done by the next Meet.
func (d *Device) Meet(ctx context.Context) (Result, error) {
	list, res, err := d.list(ctx)
	if err != nil {
		return res, err
	}
	if err := d.setRight(ctx, res.Ahead, list.Now); err != nil {
		return res, err
	}
	d.Ahead, d.Met = res.Ahead, list.Now
	if err := d.Send(ctx); err != nil {
		return res, err
	}
	for _, c := range list.Cases {
		for _, s := range []struct {
			stream string
			to     Place
		}{{casebook.BroughtTo(c.Case), c.Brought}, {c.Case, c.Entries}} {
			n, err := d.pull(ctx, s.stream, s.to)
			res.Fresh += n
			if err != nil {
				return res, err
			}
		}
		if err := d.Shelf.PutNotes(ctx, map[string][]byte{noteGone + c.Case: nil}); err != nil {
			return res, err
		}
	}
	if err := d.letGo(ctx, list.Gone); err != nil {
		return res, err
	}
	return res, d.pullSmall(ctx, list.Cases)
}

// list asks what is on the list.
func (d *Device) list(ctx context.Context) (List, Result, error) {
	var list List
	var res Result
	hello, err := d.hello(ctx)
	if err != nil {
		return list, res, err
	}
	asked := ListAsked{Hello: hello}
	heads, err := d.Shelf.Cases(ctx)
	if err != nil {
		return list, res, err
	}
	for _, h := range heads {
		if !casebook.Reserved(h.Case) {
			asked.Have = append(asked.Have, h.Case)
		}
	}
	sent := d.Clock()
	if err := d.Line.Ask(ctx, PathList, asked, &list); err != nil {
		return list, res, err
	}
	back := d.Clock()
	res = Result{Word: list.Word, Ground: list.Ground}
	// The server read its clock between the two; half way is the best guess, as in NTP (RFC 5905, section 8).
	res.Ahead = sent.Add(back.Sub(sent) / 2).Sub(list.Now)
	return list, res, list.told()
}

// reading is how far a stream was read.
type reading struct {
	Place Place `json:"place"`
}

// pull reads a stream up to a place.
func (d *Device) pull(ctx context.Context, stream string, to Place) (fresh int, err error) {
	var at reading
	if err := d.note(ctx, noteRead+stream, &at); err != nil {
		return 0, err
	}
	for at.Place != to {
		hello, err := d.hello(ctx)
		if err != nil {
			return fresh, err
		}
		var part Part
		if err := d.Line.Ask(ctx, PathPart, PartAsked{Hello: hello, Stream: stream, After: at.Place}, &part); err != nil {
			return fresh, err
		}
		if err := part.told(); err != nil {
			return fresh, err
		}
		n, err := d.keep(ctx, stream, part.Records)
		fresh += n
		if err != nil {
			return fresh, err
		}
		before := at.Place
		at.Place = part.After
		if err := d.putNote(ctx, noteRead+stream, at); err != nil {
			return fresh, err
		}
		if !part.More || !part.Anew && at.Place.Count <= before.Count {
			break // what came in since the list was made comes at the next meeting
		}
	}
	return fresh, nil
}

// keep keeps records of the server. One that is here with other bytes stays as it is here: it is the same form, or the
// outbox says why the server did not take it.
func (d *Device) keep(ctx context.Context, stream string, raws [][]byte) (fresh int, err error) {
	if len(raws) == 0 {
		return 0, nil
	}
	records := make([]casebook.Record, 0, len(raws))
	for _, raw := range raws {
		var e casebook.Entry
		if err := e.UnmarshalJSON(raw); err != nil {
			return 0, fmt.Errorf("meeting: the server sent what is no entry: %w", err)
		}
		if e.Case != stream {
			return 0, fmt.Errorf("meeting: the server sent an entry of another case: %w", casebook.ErrBroken)
		}
		records = append(records, casebook.Record{ID: e.ID, Case: e.Case, Bytes: raw})
	}
	for try := 0; ; try++ {
		links, err := d.Shelf.Case(ctx, stream)
		if err != nil {
			return 0, err
		}
		have := make(map[string]bool, len(links))
		head := ""
		for _, l := range links {
			have[l.ID], head = true, l.Hash
		}
		rest := slices.DeleteFunc(slices.Clone(records), func(r casebook.Record) bool { return have[r.ID] })
		if len(rest) == 0 {
			return 0, nil
		}
		_, err = d.read().AppendRecords(ctx, head, rest...)
		if errors.Is(err, casebook.ErrStale) && try < maxTries {
			continue
		}
		if err != nil {
			return 0, err
		}
		return len(rest), nil
	}
}

// letGo drops cases that are no longer for this device. One of which something still waits stays, out of sight, until it is
// sent.
func (d *Device) letGo(ctx context.Context, gone []Gone) error {
	waits := map[string]bool{}
	left, err := d.Waiting(ctx)
	if err != nil {
		return err
	}
	for _, w := range left {
		waits[w.Case] = true
	}
	for _, g := range gone {
		if waits[g.Case] {
			if err := d.putNote(ctx, noteGone+g.Case, g); err != nil {
				return err
			}
			continue
		}
		blobs, err := d.blobsOf(ctx, g.Case)
		if err != nil {
			return err
		}
		register := casebook.BroughtTo(g.Case)
		if err := d.Shelf.Forget(ctx, []string{g.Case, register}, blobs); err != nil {
			return err
		}
		if err := d.Shelf.PutNotes(ctx, map[string][]byte{noteRead + g.Case: nil, noteRead + register: nil, noteGone + g.Case: nil}); err != nil {
			return err
		}
	}
	return nil
}

// blobsOf lists the blobs that belong to a case here.
func (d *Device) blobsOf(ctx context.Context, caseID string) (out []string, err error) {
	entries, _, err := d.read().Entries(ctx, caseID)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		out = append(out, e.Blobs...)
	}
	brought, _, err := casebook.Register{Book: d.read(), ID: casebook.BroughtTo(caseID)}.Entries(ctx)
	for _, e := range brought {
		if b, ok := e.Body.(casebook.FileBrought); ok {
			out = append(out, b.Kept)
		}
	}
	return out, err
}

// pullSmall fetches photos that are not here, small.
func (d *Device) pullSmall(ctx context.Context, cases []Listed) error {
	if d.SmallSince.IsZero() {
		return nil
	}
	for _, c := range cases {
		entries, _, err := d.read().Entries(ctx, c.Case)
		if err != nil {
			return err
		}
		for _, e := range entries {
			if e.Kind != casebook.KindPhotoTaken || e.At.Before(d.SmallSince) {
				continue
			}
			for _, name := range e.Blobs {
				if err := d.pullPhoto(ctx, c.Case, name); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (d *Device) pullPhoto(ctx context.Context, caseID, name string) error {
	if _, err := d.read().Blob(ctx, caseID, name); !errors.Is(err, casebook.ErrNotFound) {
		return err
	}
	hello, err := d.hello(ctx)
	if err != nil {
		return err
	}
	var small Small
	if err := d.Line.Ask(ctx, PathSmall, SmallAsked{Hello: hello, Case: caseID, Name: name}, &small); err != nil {
		return err
	}
	if err := small.told(); err != nil || len(small.Bytes) == 0 {
		return err
	}
	_, err = d.read().Bring(ctx, caseID, name, small.Bytes, d.Clock(), d.Account)
	return err
}

// note reads a note that is sealed to the device; one that is not there leaves into as it is.
func (d *Device) note(ctx context.Context, name string, into any) error {
	raw, err := d.Shelf.Note(ctx, name)
	if err != nil || raw == nil {
		return err
	}
	if d.Sealer != nil {
		if raw, err = d.Sealer.OpenBlob(ctx, own, raw); err != nil {
			return err
		}
	}
	return json.Unmarshal(raw, into)
}

func (d *Device) putNote(ctx context.Context, name string, v any) error {
	raw, err := json.Marshal(v)
	if err == nil && d.Sealer != nil {
		raw, err = d.Sealer.SealBlob(ctx, own, raw)
	}
	if err != nil {
		return err
	}
	return d.Shelf.PutNotes(ctx, map[string][]byte{name: raw})
}
