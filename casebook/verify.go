package casebook

import (
	"context"
	"crypto/hmac"
	"encoding/json"
	"errors"
	"fmt"
)

// Report is what [Verify] found.
type Report struct {
	// Records, Cases and Blobs count what the store holds; BlobBytes adds up the blobs. The program's own cases
	// are not counted as cases; their records are.
	Records   int64 `json:"records"`
	Cases     int   `json:"cases"`
	Blobs     int   `json:"blobs"`
	BlobBytes int64 `json:"blob_bytes"`
	// Sealed counts the records that are sealed. Of these, Unopened were checked by the chain alone, because no
	// key was at hand, and Erased belong to cases that were erased, which nobody can read again.
	Sealed   int64 `json:"sealed,omitempty"`
	Unopened int64 `json:"unopened,omitempty"`
	Erased   int64 `json:"erased,omitempty"`
	// Keyed counts the records whose place in the keyed chain holds; 0 when there is no key, or when the store has not
	// begun one.
	Keyed int64 `json:"keyed,omitempty"`
	// Unread counts entries of a kind or version that this program does not know. They are kept and shown
	// as unknown; they are no defect.
	Unread int `json:"unread"`
	// NotBrought lists files that entries name which were imported without them, one sentence each. They are no defect.
	NotBrought []string `json:"not_brought,omitempty"`
	// Head is the hash of the last link. Noted somewhere else, it shows later that nothing was cut off the
	// end and that the chain was not made anew, which nothing inside a store can show.
	Head string `json:"head"`
	// Defects lists everything that does not hold, in the order in which it was found; empty when sound.
	Defects []string `json:"defects"`
}

// Sound tells whether nothing was found wrong.
func (r Report) Sound() bool { return len(r.Defects) == 0 }

// MediumChecker is a store that can examine its own medium beyond the [Store] contract: pages, indexes, the
// guards that refuse changes. [Verify] adds what it lists to the defects.
type MediumChecker interface {
	CheckMedium(ctx context.Context) (defects []string, err error)
}

// verifyPage is how many links [Verify] reads at a time.
const verifyPage = 1000

// Verify is [Book.Verify] without a key: of sealed records it checks the chain and does not read the contents.
func Verify(ctx context.Context, s Store) (Report, error) { return Book{Store: s}.Verify(ctx) }

// Verify reads everything that a store holds and computes the chain, the heads, the cases and the blobs
// again. Each record must read as an [Entry] of its own ID and case whose blobs are kept; with a Sealer it is
// opened first, every erasure must stand in the ledger, and every case that the ledger calls erased must be.
//
// A store may be written to meanwhile; what comes in after the feed's end was reached is left out. Memory
// grows with the number of cases and of blobs, not with that of records.
//
// The error is for a store that cannot be read to its end (its text says where) or a context that ended;
// the report then holds what was found so far, and is no proof of soundness. Defects are not errors.
func (b Book) Verify(ctx context.Context) (Report, error) {
	v := verifier{store: b.Store, sealer: b.Sealer, erasures: map[string]string{}, cases: map[string]*caseTally{}, named: map[naming]string{}, brought: map[string]*filesOf{}}
	v.report.Defects = []string{}
	for _, step := range []func(context.Context) error{v.medium, v.headsBefore, v.chain, v.feed, v.keyed, v.headsAfter, v.eachCase, v.erased, v.blobs} {
		if err := step(ctx); err != nil {
			return v.report, fmt.Errorf("casebook: verify: %w", err)
		}
	}
	return v.report, nil
}

// caseTally follows one case along the feed.
type caseTally struct {
	links int
	// rolled folds the hashes of the case's links in their order; equal values mean equal links.
	rolled string
	// want is the head that the store gave before the feed was read, due at the link number wantAt.
	want   string
	wantAt int
	// head is the hash of the case's latest link in the feed.
	head string
}

type verifier struct {
	store  Store
	sealer Sealer
	report Report
	// erasures maps a case to the ledger's entry that says it was erased.
	erasures map[string]string
	// plain is where records are opened, one after the other.
	plain []byte
	cases map[string]*caseTally
	// order lists the cases as the feed first names them, so that reports are the same every time.
	order []string
	// named maps a blob of a case to the first entry that names it; blobOrder lists them as they came.
	named     map[naming]string
	blobOrder []naming
	// brought is what the registers of files from other stores say, by register.
	brought map[string]*filesOf
	// mac makes the keyed chain. unkeyed counts the records without a place in it, misKeyed those whose place does not
	// hold, from firstMis on. begun tells that the ledger says that it was begun.
	mac                         ChainMAC
	unkeyed, misKeyed, firstMis int64
	begun                       bool
}

// naming is a blob by the name that entries of a case give it.
type naming struct{ hash, caseID string }

func (v *verifier) defect(format string, args ...any) {
	v.report.Defects = append(v.report.Defects, fmt.Sprintf(format, args...))
}

func (v *verifier) tally(id string) *caseTally {
	t := v.cases[id]
	if t == nil {
		t = &caseTally{}
		v.cases[id] = t
		v.order = append(v.order, id)
	}
	return t
}

func (v *verifier) medium(ctx context.Context) error {
	m, ok := v.store.(MediumChecker)
	if !ok {
		return nil
	}
	defects, err := m.CheckMedium(ctx)
	v.report.Defects = append(v.report.Defects, defects...)
	return err
}

// headsBefore notes the heads as they are before the feed is read: each must turn up in it.
func (v *verifier) headsBefore(ctx context.Context) error {
	heads, err := v.store.Cases(ctx)
	if err != nil {
		return err
	}
	for i, h := range heads {
		if i > 0 && heads[i-1].Case >= h.Case {
			v.defect("the list of cases is out of order at %q", h.Case)
		}
		t := v.tally(h.Case)
		t.want, t.wantAt = h.Head, h.Count
		if h.Count < 1 {
			v.defect("case %q is listed with %d entries", h.Case, h.Count)
		}
	}
	return nil
}

func (v *verifier) feed(ctx context.Context) error {
	var seq int64
	for {
		page, err := v.store.Feed(ctx, seq, verifyPage)
		if err != nil {
			return fmt.Errorf("after record %d: %w", seq, err)
		}
		if len(page) == 0 {
			return nil
		}
		from := seq
		for _, l := range page {
			v.link(ctx, l, seq+1)
			if l.Seq > seq {
				seq = l.Seq
			}
			v.report.Head = l.Hash
		}
		if seq == from {
			return fmt.Errorf("%w: the feed does not move past record %d", ErrBroken, seq)
		}
	}
}

// chain gets the key of the keyed chain, if there is a key at all.
func (v *verifier) chain(ctx context.Context) error {
	if v.sealer == nil {
		return nil
	}
	mac, err := v.sealer.Chain(ctx)
	switch {
	case errors.Is(err, ErrBroken), errors.Is(err, ErrSealed):
		v.defect("the keyed chain cannot be checked: the ledger's key does not open: %v", err)
	case err != nil:
		return err
	}
	v.mac = mac
	return nil
}

// mark judges a link's place in the keyed chain.
func (v *verifier) mark(l Link) {
	switch {
	case v.mac == nil:
	case l.MAC == nil:
		v.unkeyed++
	case hmac.Equal(l.MAC, v.mac(l.Seq, l.Hash)):
		v.report.Keyed++
	default:
		if v.misKeyed++; v.misKeyed == 1 {
			v.firstMis = l.Seq
		}
	}
}

// keyed says what does not hold of the keyed chain. A store that was never written to since it exists has none yet.
func (v *verifier) keyed(context.Context) error {
	if v.misKeyed > 0 {
		v.defect("the keyed chain does not hold for %d records, from record %d on: the chain was made anew by somebody without the key", v.misKeyed, v.firstMis)
	}
	if v.unkeyed > 0 && (v.report.Keyed+v.misKeyed > 0 || v.begun) {
		v.defect("%d records have no place in the keyed chain: it was cut, or they were added by somebody without the key", v.unkeyed)
	}
	return nil
}

// link judges one link against its place and the link before it, whose hash is report.Head.
func (v *verifier) link(ctx context.Context, l Link, wantSeq int64) {
	v.report.Records++
	if l.Seq != wantSeq {
		v.defect("record %d stands where %d belongs: records are missing or out of order", l.Seq, wantSeq)
	}
	if got := ChainHash(v.report.Head, l.Record); got != l.Hash {
		v.defect("record %d (entry %q of case %q): its hash is %.12s…, its bytes and the record before give %.12s…: it, or what stood before it, was changed",
			l.Seq, l.ID, l.Case, l.Hash, got)
	}
	t := v.tally(l.Case)
	t.links++
	t.head = l.Hash
	t.rolled = roll(t.rolled, l)
	if t.links == t.wantAt && l.Hash != t.want {
		v.defect("case %q: its head is listed as %.12s… after %d entries; the chain gives %.12s…", l.Case, t.want, t.wantAt, l.Hash)
	}
	v.mark(l)
	if v.open(ctx, &l) {
		v.entry(l)
	}
}

func roll(rolled string, l Link) string {
	return ChainHash(rolled, Record{ID: l.Hash, Case: fmt.Sprint(l.Seq), Bytes: []byte(ChainHash("", l.Record))})
}

// open replaces sealed bytes by plain ones; false when there is nothing to read.
func (v *verifier) open(ctx context.Context, l *Link) bool {
	if !IsSealed(l.Bytes) {
		if v.sealer != nil {
			v.defect("record %d (entry %q of case %q) is not sealed", l.Seq, l.ID, l.Case)
		}
		return true
	}
	v.report.Sealed++
	if v.sealer == nil {
		v.report.Unopened++
		return false
	}
	plain, err := v.sealer.Open(ctx, v.plain[:0], l.Record)
	switch {
	case errors.Is(err, ErrErased):
		v.report.Erased++
		return false
	case err != nil:
		v.defect("record %d (entry %q of case %q) does not open: %v", l.Seq, l.ID, l.Case, err)
		return false
	}
	v.plain, l.Bytes = plain, plain
	return true
}

func (v *verifier) entry(l Link) {
	var e Entry
	if err := json.Unmarshal(l.Bytes, &e); err != nil {
		v.defect("record %d (entry %q of case %q) does not read as an entry: %v", l.Seq, l.ID, l.Case, err)
		return
	}
	if e.ID != l.ID || e.Case != l.Case {
		v.defect("record %d is kept as entry %q of case %q, but its bytes say entry %q of case %q", l.Seq, l.ID, l.Case, e.ID, e.Case)
	}
	if e.Kind == "" {
		v.defect("record %d (entry %q of case %q) has no kind", l.Seq, l.ID, l.Case)
	}
	if _, unknown := e.Body.(Unknown); unknown {
		if k := Find(e.Kind); k != nil && k.Version == e.Version {
			v.defect("record %d (entry %q of case %q): its body does not read as %s version %d", l.Seq, l.ID, l.Case, e.Kind, e.Version)
		} else {
			v.report.Unread++
		}
	}
	if _, ok := e.Body.(AccessMarked); ok && l.Case == Ledger {
		v.begun = true
	}
	if body, ok := e.Body.(CaseErased); ok {
		v.erasures[body.Case] = e.ID
		for _, register := range body.Also {
			v.erasures[register] = e.ID
		}
	}
	if e.Body != nil && (e.Kind == KindFileBrought || e.Kind == KindFileAwaited) && Reserved(l.Case) {
		if v.brought[l.Case] == nil {
			f := newFilesOf()
			v.brought[l.Case] = &f
		}
		v.brought[l.Case].take(e)
	}
	for _, hash := range e.Blobs {
		n := naming{hash, l.Case}
		if _, seen := v.named[n]; !seen {
			v.named[n] = l.ID
			v.blobOrder = append(v.blobOrder, n)
		}
	}
}

// headsAfter lists the cases again: one that came in meanwhile has a head by now.
func (v *verifier) headsAfter(ctx context.Context) error {
	heads, err := v.store.Cases(ctx)
	if err != nil {
		return err
	}
	now := make(map[string]CaseHead, len(heads))
	for _, h := range heads {
		now[h.Case] = h
	}
	for _, id := range v.order {
		t := v.cases[id]
		if t.links > 0 && !Reserved(id) {
			v.report.Cases++
		}
		h, listed := now[id]
		switch {
		case t.links < t.wantAt:
			v.defect("case %q is listed with %d entries; the feed has %d: entries are missing", id, t.wantAt, t.links)
		case !listed:
			v.defect("case %q has %d entries but is not in the list of cases", id, t.links)
		case h.Count < t.links:
			v.defect("case %q is listed with %d entries; the feed has %d", id, h.Count, t.links)
		case h.Count == t.links && h.Head != t.head && t.wantAt != t.links:
			v.defect("case %q: its head is listed as %.12s…; the chain gives %.12s…", id, h.Head, t.head)
		}
	}
	return nil
}

// eachCase reads every case by itself, as a page does, and compares it with what the feed gave.
func (v *verifier) eachCase(ctx context.Context) error {
	for _, id := range v.order {
		links, err := v.store.Case(ctx, id)
		if err != nil {
			return fmt.Errorf("case %q: %w", id, err)
		}
		t := v.cases[id]
		if len(links) < t.links {
			v.defect("case %q reads as %d entries; the feed has %d", id, len(links), t.links)
			continue
		}
		rolled := ""
		for _, l := range links[:t.links] {
			rolled = roll(rolled, l)
		}
		if rolled != t.rolled {
			v.defect("case %q reads otherwise than in the feed", id)
		}
	}
	return nil
}

// erased compares the destroyed keys with the ledger: none without its entry, and none that lives on.
func (v *verifier) erased(ctx context.Context) error {
	if v.sealer == nil {
		return nil
	}
	keys, err := v.sealer.Erased(ctx)
	if err != nil {
		return err
	}
	for _, k := range keys {
		// An erasure that came in after the feed's end was reached is not judged.
		if entry, told := v.erasures[k.Case]; !told {
			links, err := v.store.Feed(ctx, v.report.Records, 1)
			if err != nil {
				return err
			}
			if len(links) == 0 {
				v.defect("case %q has no key any more, and the ledger does not say that it was erased", k.Case)
			}
		} else if entry != k.ErasedBy {
			v.defect("case %q: its key was destroyed by ledger entry %q; the ledger says %q", k.Case, k.ErasedBy, entry)
		}
		delete(v.erasures, k.Case)
	}
	for _, id := range v.order {
		if _, left := v.erasures[id]; left {
			v.defect("the ledger says that case %q was erased, but its key is still there: erase it again", id)
		}
	}
	return nil
}

func (v *verifier) blobs(ctx context.Context) error {
	hashes, err := v.store.BlobHashes(ctx)
	if err != nil {
		return err
	}
	there := make(map[string]bool, len(hashes))
	for i, hash := range hashes {
		if i > 0 && hashes[i-1] >= hash {
			v.defect("the list of blobs is out of order at %q", hash)
		}
		there[hash] = true
	}
	claims := v.claims(there)
	for _, hash := range hashes {
		v.report.Blobs++
		content, err := v.store.Blob(ctx, hash)
		switch {
		case errors.Is(err, ErrNotFound), errors.Is(err, ErrBroken):
			v.defect("blob %s: %v", hash, err)
		case err != nil:
			return fmt.Errorf("blob %s: %w", hash, err)
		case BlobHash(content) != hash:
			v.defect("blob %s: its bytes give %.12s…: it was changed", hash, BlobHash(content))
		default:
			for _, n := range claims[hash] {
				v.openBlob(ctx, hash, n, content)
			}
		}
		v.report.BlobBytes += int64(len(content))
	}
	return nil
}

// claims finds, for each blob that is there, the cases whose entries name it, under its own name or under the one that
// it had in another store. It tells of names without a blob.
func (v *verifier) claims(there map[string]bool) map[string][]naming {
	claims := make(map[string][]naming, len(there))
	for _, n := range v.blobOrder {
		kept, f := n.hash, v.brought[BroughtTo(n.caseID)]
		if !there[kept] && f != nil && f.kept[n.hash] != "" {
			kept = f.kept[n.hash]
		}
		switch {
		case there[kept]:
			claims[kept] = append(claims[kept], n)
		case kept != n.hash:
			v.defect("entry %q names blob %s, which was brought along as blob %s, and that is not kept", v.named[n], n.hash, kept)
		case f != nil && f.awaited[n.hash]:
			v.report.NotBrought = append(v.report.NotBrought, fmt.Sprintf("entry %q of case %q names file %s, which was not brought along when the entry was imported", v.named[n], n.caseID, n.hash))
		default:
			v.defect("entry %q names blob %s, which is not kept", v.named[n], n.hash)
		}
	}
	return claims
}

// openBlob checks that a blob opens in the case whose entry names it.
func (v *verifier) openBlob(ctx context.Context, hash string, n naming, content []byte) {
	if v.sealer == nil {
		return
	}
	if _, err := v.sealer.OpenBlob(ctx, n.caseID, content); err != nil && !errors.Is(err, ErrErased) {
		v.defect("blob %s, named by entry %q of case %q, does not open: %v", hash, v.named[n], n.caseID, err)
	}
}
