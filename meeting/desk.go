package meeting

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"filippo.io/age"

	"lowtide/casebook"
	"lowtide/intake"
)

// Desk is the server's half.
type Desk struct {
	Book casebook.Book
	// Key opens envelopes.
	Key age.Identity
	// Now is the server's clock.
	Now func() time.Time
	// Device finds a registered device; false for one that is not known.
	Device func(id string) (Registered, bool)
	// Rights are what the owner of a device may do now.
	Rights func(account string) Rights
	// CleanFile judges a file that an entry of the kind names, and returns what is kept of it.
	CleanFile func(kind casebook.Kind, content []byte) ([]byte, error)
}

// Registered is a device as the accounts know it.
type Registered struct {
	ID, Account, Phone string
	Key                ed25519.PublicKey
	Lost               bool
}

// Rights are what a person may do.
type Rights interface {
	// Write tells whether she may write entries of a kind.
	Write(kind casebook.Kind) bool
	// Open tells whether she may open a case: it is on her list, or she said why.
	Open(ctx context.Context, caseID string) (bool, error)
}

// Sentences of outcomes.
var (
	noUnknownDevice = Outcome{What: "Lowtide does not know the phone that wrote this.", Next: "Sign in on that phone and set it up again; what it wrote stays on it until then."}
	noLost          = Outcome{What: "The phone that wrote this was reported lost, so nobody can know who held it.", Next: "When it is found and was in safe hands, an administrator can say so; then it is taken."}
	noSignature     = Outcome{What: "This was not signed by the phone that it names.", Next: "Write it once more at the server."}
	noAuthor        = Outcome{What: "This says that somebody else wrote it than the owner of the phone.", Next: "Write it once more at the server."}
	noRead          = Outcome{What: "The server cannot read this.", Next: "Tell whoever looks after the server: its key may have been changed. It stays on the phone."}
	noNewer         = Outcome{What: "The program on the phone is newer than the server's, which does not know this kind of entry.", Next: "It stays on the phone, and is sent again when the server is brought up to date."}
	noList          = Outcome{What: "The patient is no longer on your list.", Next: "Open the case at the server and say why; then it is sent again. Or tell whoever looks after the patient now."}
	noElsewhere     = Outcome{What: "This says that it moved in from another case, and that case does not have it.", Next: "Open the other case at the server and move the entry there."}
	noConflict      = Outcome{What: "This form reached the server before, with other content.", Next: "What is there counts. Compare it in the log of the case; correct it there if it is wrong."}
	noFile          = Outcome{What: "No entry of the case names this photo or log yet.", Next: "It is sent again after its entry."}
)

func noRight(kind casebook.Kind) Outcome {
	return Outcome{What: fmt.Sprintf("Your account may no longer write an entry of the kind %q.", titleOf(kind)), Next: "Tell somebody who may what it says, or ask an administrator."}
}

func titleOf(kind casebook.Kind) string {
	if k := casebook.Find(kind); k != nil {
		return k.Title
	}
	return string(kind)
}

func noErased(err error) Outcome {
	var gone *casebook.ErasedError
	if errors.As(err, &gone) {
		return Outcome{What: "The case was erased on " + gone.At.Format("2 January 2006") + " by " + gone.By + " because: " + gone.Reason + ".", Next: "Nothing can be added to it. Ask whoever erased it."}
	}
	return Outcome{What: "The case was erased.", Next: "Nothing can be added to it. Ask an administrator."}
}

// Word is what the server says to a device before anything else. ok is false when nothing may be given to it or taken in
// its name: it is not the person's own, not known, lost, or speaks a newer version.
func (d Desk) Word(h Hello, account string) (w Word, ok bool) {
	w = Word{Version: Version, Now: d.Now()}
	dev, known := d.Device(h.Device)
	switch {
	case h.Version > Version:
		w.What = "The program on the phone is newer than the server's. Nothing is lost: it is sent when the server is brought up to date."
	case !known:
		w.What = "Lowtide does not know this phone. Set it up again on the page of the phone."
	case dev.Lost:
		w.Lost = true
		w.What = "This phone was reported lost."
	case dev.Account != account:
		w.What = "This phone was set up by somebody else. She has to sign in on it, or set it free."
	default:
		ok = true
	}
	return w, ok
}

// item is an envelope on its way into a case.
type item struct {
	at     int
	dev    Registered
	record casebook.Record
	entry  casebook.Entry
}

// Take takes envelopes and says what became of each, in their order. ahead is by how much the clock of the device that
// sends them is ahead; it is told to readers, and decides nothing.
func (d Desk) Take(ctx context.Context, list []Sealed, ahead time.Duration) ([]Outcome, error) {
	out := make([]Outcome, len(list))
	var order []string
	cases := map[string][]item{}
	for i, s := range list {
		out[i] = Outcome{Name: s.Name}
		e, err := OpenEnvelope(s.Bytes, d.Key)
		if err != nil {
			out[i].no(noRead)
			continue
		}
		dev, known := d.Device(e.Device)
		switch {
		case !known:
			out[i].no(noUnknownDevice)
		case !e.SignedBy(dev.Key):
			out[i].no(noSignature)
		case dev.Lost:
			out[i].no(noLost)
		case e.Entry == nil:
			out[i].Case = e.Case
			if err := d.takeFile(ctx, dev, e, &out[i]); err != nil {
				return nil, err
			}
		default:
			it := item{at: i, dev: dev}
			if it.record, it.entry, err = recordOf(e.Entry); err != nil {
				out[i].no(noSignature)
				continue
			}
			out[i].Case = it.record.Case
			key := it.record.Case + "\n" + dev.ID
			if cases[key] == nil {
				order = append(order, key)
			}
			cases[key] = append(cases[key], it)
		}
	}
	for _, key := range order {
		if err := d.takeEntries(ctx, cases[key], ahead, out); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (o *Outcome) no(why Outcome) { o.What, o.Next, o.Hold = why.What, why.Next, why.Hold }

// maxTries bounds how often an append is tried again when the case moved on meanwhile.
const maxTries = 20

// takeEntries takes entries of one case from one device. What cannot be taken does not keep back what can.
func (d Desk) takeEntries(ctx context.Context, items []item, ahead time.Duration, out []Outcome) error {
	caseID := items[0].record.Case
	if _, call := casebook.DeskCallOf(caseID); casebook.Reserved(caseID) && !call {
		for _, it := range items {
			out[it.at].no(noAuthor) // a register of the program's own, which no person writes
		}
		return nil
	}
	for try := 0; ; try++ {
		known, head, err := d.known(ctx, caseID)
		if errors.Is(err, casebook.ErrErased) {
			for _, it := range items {
				out[it.at].no(noErased(err))
			}
			return nil
		}
		if err != nil {
			return err
		}
		fresh, err := d.judge(ctx, known, items, out)
		if err != nil || len(fresh) == 0 {
			return err
		}
		err = d.append(ctx, head, fresh, ahead)
		switch {
		case errors.Is(err, casebook.ErrErased):
			for _, it := range fresh {
				out[it.at].no(noErased(err))
			}
			return nil
		case errors.Is(err, casebook.ErrConflict) && len(fresh) > 1:
			// One of them is kept in another case. Each by itself then.
			for _, it := range fresh {
				if err := d.takeEntries(ctx, []item{it}, ahead, out); err != nil {
					return err
				}
			}
			return nil
		case errors.Is(err, casebook.ErrConflict) && try > 0:
			out[fresh[0].at].no(noConflict)
			return nil
		case (errors.Is(err, casebook.ErrStale) || errors.Is(err, casebook.ErrConflict)) && try < maxTries:
			continue
		case err != nil:
			return err
		}
		for _, it := range fresh {
			out[it.at] = Outcome{Name: out[it.at].Name, Case: caseID, Kept: true}
		}
		return nil
	}
}

// known reads a case, or the register of a call at the Call desk.
func (d Desk) known(ctx context.Context, caseID string) ([]casebook.Entry, string, error) {
	if _, ok := casebook.DeskCallOf(caseID); ok {
		return casebook.Register{Book: d.Book, ID: caseID}.Entries(ctx)
	}
	return d.Book.Entries(ctx, caseID)
}

// append notes that the entries come from a device, then keeps them and what is awaited with them.
func (d Desk) append(ctx context.Context, head string, fresh []item, ahead time.Duration) error {
	dev, caseID := fresh[0].dev, fresh[0].record.Case
	records := make([]casebook.Record, len(fresh))
	ids := make([]string, len(fresh))
	for i, it := range fresh {
		records[i], ids[i] = it.record, it.record.ID
	}
	if !casebook.Reserved(caseID) {
		note := casebook.EntriesMet{Device: dev.ID, Phone: dev.Phone, Entries: ids, AheadS: int64(ahead.Round(time.Second) / time.Second)}
		if err := d.Book.Met(ctx, caseID, note, d.Now(), dev.Account); err != nil {
			return err
		}
		for _, it := range fresh {
			for _, name := range it.entry.Blobs {
				if _, err := d.Book.Blob(ctx, caseID, name); !errors.Is(err, casebook.ErrNotFound) {
					continue
				}
				if err := d.Book.Await(ctx, caseID, name, d.Now(), dev.Account); err != nil {
					return err
				}
			}
		}
	}
	_, err := d.Book.AppendRecords(ctx, head, records...)
	return err
}

// judge says of each entry whether it can be kept, and returns those that are new and can.
func (d Desk) judge(ctx context.Context, known []casebook.Entry, items []item, out []Outcome) ([]item, error) {
	by := make(map[string]casebook.Entry, len(known))
	for _, e := range known {
		by[e.ID] = e
	}
	var fresh []item
	seen := map[string]bool{}
	for _, it := range items {
		o := &out[it.at]
		*o = Outcome{Name: o.Name, Case: o.Case}
		if old, ok := by[it.entry.ID]; ok {
			// The same form may have reached the server before the network went: then only the time of writing differs.
			if o.Kept = casebook.SameContent(old, it.entry) && old.Author == it.entry.Author; !o.Kept {
				o.no(noConflict)
			}
			continue
		}
		why, err := d.refuses(ctx, it, len(known) == 0)
		if err != nil {
			return nil, err
		}
		switch {
		case why != nil:
			o.no(*why)
		case seen[it.entry.ID]:
			o.no(noConflict) // twice in one request: the first decides
		default:
			seen[it.entry.ID] = true
			fresh = append(fresh, it)
		}
	}
	return d.check(known, fresh, out), nil
}

// refuses judges an entry by who wrote it.
func (d Desk) refuses(ctx context.Context, it item, newCase bool) (*Outcome, error) {
	e := it.entry
	if e.Author != it.dev.Account {
		return &noAuthor, nil
	}
	k := casebook.Find(e.Kind)
	if _, unknown := e.Body.(casebook.Unknown); unknown || k == nil || e.Version > k.Version {
		return &noNewer, nil
	}
	rights := d.Rights(it.dev.Account)
	if !rights.Write(e.Kind) {
		no := noRight(e.Kind)
		return &no, nil
	}
	if _, call := casebook.DeskCallOf(e.Case); call {
		if e.Kind != casebook.KindCallTaken {
			return &noNewer, nil
		}
		return nil, nil
	}
	if !newCase {
		if ok, err := rights.Open(ctx, e.Case); err != nil || !ok {
			return &noList, err
		}
	}
	if b, ok := e.Body.(casebook.EntryCorrected); ok && b.Action == "moved in" {
		return d.refusesMove(ctx, b, rights)
	}
	return nil, nil
}

// refusesMove judges what says that it moved in: it must stand in the other case as it says, or anybody could write in
// another's name.
func (d Desk) refusesMove(ctx context.Context, b casebook.EntryCorrected, rights Rights) (*Outcome, error) {
	if b.Original == nil || b.OtherCase == "" || casebook.Reserved(b.OtherCase) {
		return &noElsewhere, nil
	}
	if ok, err := rights.Open(ctx, b.OtherCase); err != nil || !ok {
		return &noList, err
	}
	there, _, err := d.Book.Entries(ctx, b.OtherCase)
	if err != nil {
		return &noElsewhere, ignoreErased(err)
	}
	c := casebook.Fold(b.OtherCase, there)
	l := c.Line(b.Original.ID)
	if l == nil || l.Entry.Came.Claimed() {
		return &noElsewhere, nil
	}
	was := l.Entry
	if l.Now != nil {
		was.Body, was.At = l.Now, l.At
	}
	if !casebook.SameContent(was, *b.Original) || was.Author != b.Original.Author || !was.Recorded.Equal(b.Original.Recorded) {
		return &noElsewhere, nil
	}
	return nil, nil
}

func ignoreErased(err error) error {
	if errors.Is(err, casebook.ErrErased) {
		return nil
	}
	return err
}

// check holds new entries to what is asked of a form. An entry with a problem is left out, and the others are checked
// again without it, since they may rest on it.
func (d Desk) check(known []casebook.Entry, fresh []item, out []Outcome) []item {
	for {
		list := make([]casebook.Entry, len(fresh))
		for i, it := range fresh {
			list[i] = it.entry
		}
		bad := map[int]*Outcome{}
		for _, p := range intake.CheckEntries(known, list, d.Now()) {
			i, inside, ok := placeIn(p.Pointer, len(fresh))
			if p.Notice || !ok || p.Code == intake.CodeFuture && ownClock(list[i], inside, d.Now()) {
				continue
			}
			if bad[i] == nil {
				bad[i] = &Outcome{Next: p.Remedy + " Write it once more at the server."}
			}
			bad[i].What = strings.TrimSpace(bad[i].What + " " + p.Message)
			if p.Code == intake.CodeFuture {
				bad[i].Next, bad[i].Hold = "The phone's clock was wrong, and nobody can tell by how much. Correct the time of this entry on the phone; then it is sent.", true
			}
		}
		if len(bad) == 0 {
			return fresh
		}
		var rest []item
		for i, it := range fresh {
			if why := bad[i]; why != nil {
				out[it.at].no(*why)
			} else {
				rest = append(rest, it)
			}
		}
		fresh = rest
	}
}

// mostAhead is how far ahead the clock of a device may have been for what it wrote to be taken.
const mostAhead = 7 * 24 * time.Hour

// ownClock tells whether a time of an entry that is to come is only that of its device's wrong clock. When it was written
// and its ID decide nothing; when it happened does, except of a correction.
func ownClock(e casebook.Entry, inside string, now time.Time) bool {
	latest := now.Add(mostAhead)
	made, _ := casebook.IDTime(e.ID)
	return (inside == "id" || inside == "recorded" || inside == "at" && e.Kind == casebook.KindEntryCorrected) &&
		!made.After(latest) && !e.Recorded.After(latest) && (inside != "at" || !e.At.After(latest))
}

func placeIn(pointer string, n int) (i int, inside string, ok bool) {
	rest, ok := strings.CutPrefix(pointer, "/entries/")
	if !ok {
		return 0, "", false
	}
	digits, inside, _ := strings.Cut(rest, "/")
	i, err := strconv.Atoi(digits)
	return i, inside, err == nil && i >= 0 && i < n
}

// takeFile keeps a photo or log that an entry of the case names.
func (d Desk) takeFile(ctx context.Context, dev Registered, e Envelope, out *Outcome) error {
	if casebook.Reserved(e.Case) {
		out.no(noAuthor)
		return nil
	}
	entries, _, err := d.Book.Entries(ctx, e.Case)
	if errors.Is(err, casebook.ErrErased) {
		out.no(noErased(err))
		return nil
	}
	if err != nil {
		return err
	}
	at := slices.IndexFunc(entries, func(x casebook.Entry) bool {
		return x.Author == dev.Account && slices.Contains(x.Blobs, e.File)
	})
	if at < 0 {
		out.no(noFile)
		return nil
	}
	if !d.Rights(dev.Account).Write(entries[at].Kind) {
		out.no(noRight(entries[at].Kind))
		return nil
	}
	content := e.Content
	if d.CleanFile != nil {
		if content, err = d.CleanFile(entries[at].Kind, content); err != nil {
			out.no(Outcome{What: err.Error(), Next: "Choose it once more at the server."})
			return nil
		}
	}
	_, err = d.Book.Bring(ctx, e.Case, e.File, content, d.Now(), dev.Account)
	switch {
	case errors.Is(err, casebook.ErrConflict):
		out.no(noConflict)
		return nil
	case errors.Is(err, casebook.ErrErased):
		out.no(noErased(err))
		return nil
	}
	out.Kept = err == nil
	return err
}

// Streams are the places of a case's streams as they are now.
func (d Desk) Streams(ctx context.Context, caseID string) (Listed, error) {
	l := Listed{Case: caseID}
	for _, s := range []struct {
		stream string
		into   *Place
	}{{caseID, &l.Entries}, {casebook.BroughtTo(caseID), &l.Brought}} {
		links, err := d.Book.Store.Case(ctx, s.stream)
		if err != nil {
			return l, err
		}
		if n := len(links); n > 0 {
			*s.into = Place{n, links[n-1].Hash}
		}
	}
	return l, nil
}

// told are the kinds of a register of what was brought that a device needs: how files are kept here is nothing to it.
var told = map[casebook.Kind]bool{casebook.KindCaseImported: true, casebook.KindTakenOver: true, casebook.KindEntriesMet: true}

// Part reads a part of a stream after a place, up to [MostOfStep] bytes and at least one record. Errors are those of
// [casebook.Book.Entries]; the caller has seen to it that the person may open the case.
func (d Desk) Part(ctx context.Context, stream string, after Place) (Part, error) {
	var p Part
	links, err := d.Book.Store.Case(ctx, stream)
	if err != nil {
		return p, err
	}
	if after.Count < 0 || after.Count > len(links) || after.Count > 0 && links[after.Count-1].Hash != after.Head {
		p.Anew, after = true, Place{}
	}
	size := 0
	for i := after.Count; i < len(links); i++ {
		raw, err := d.plain(ctx, links[i].Record)
		if err != nil {
			return p, err
		}
		if size += len(raw); size > MostOfStep && i > after.Count {
			p.More = true
			break
		}
		after = Place{i + 1, links[i].Hash}
		var kind struct{ Kind casebook.Kind }
		if casebook.Reserved(stream) && (json.Unmarshal(raw, &kind) != nil || !told[kind.Kind]) {
			continue
		}
		p.Records = append(p.Records, raw)
	}
	p.After = after
	return p, nil
}

func (d Desk) plain(ctx context.Context, r casebook.Record) ([]byte, error) {
	if d.Book.Sealer == nil {
		return r.Bytes, nil
	}
	return d.Book.Sealer.Open(ctx, nil, r)
}
