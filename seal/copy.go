package seal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"lowtide/casebook"
)

// Copied counts what [Copy] copied.
type Copied struct {
	Entries int64 `json:"entries"`
	Blobs   int   `json:"blobs"`
	// Unclaimed are blobs that no entry names; they are kept under [casebook.Unclaimed].
	Unclaimed int    `json:"unclaimed_blobs"`
	Head      string `json:"head"`
}

// copyPage is how many links are read at a time.
const copyPage = 1000

// Copy copies a plain store, the program's own cases too, into a sealed book that holds nothing, entry by entry in the
// order of the chain, reads every one back, and notes in the ledger which chain it was. Entries keep their bytes, except that the name of a
// blob is the hash of its sealed bytes, so that entries that name blobs are written again with the new names.
// A plain store that does not verify is refused: a copy would make its defects look sound.
func Copy(ctx context.Context, to casebook.Book, from casebook.Store, at time.Time, random io.Reader) (Copied, error) {
	report, err := casebook.Verify(ctx, from)
	if err != nil {
		return Copied{}, err
	}
	if !report.Sound() {
		return Copied{}, fmt.Errorf("seal: %w: %s (and %d more); restore a backup first", casebook.ErrBroken, report.Defects[0], len(report.Defects)-1)
	}
	c := copier{to: to, from: from, heads: map[string]string{}, blobs: map[string]map[string]string{}}
	c.done.Head = report.Head
	for seq := int64(0); ; {
		links, err := from.Feed(ctx, seq, copyPage)
		if err != nil {
			return c.done, err
		}
		if len(links) == 0 {
			break
		}
		seq = links[len(links)-1].Seq
		if err := c.page(ctx, links); err != nil {
			return c.done, err
		}
	}
	if err := c.unclaimed(ctx); err != nil {
		return c.done, err
	}
	if c.done.Entries != report.Records {
		return c.done, fmt.Errorf("seal: %d entries were copied of %d", c.done.Entries, report.Records)
	}
	if err := c.compare(ctx); err != nil {
		return c.done, err
	}
	id, err := casebook.NewID(at, random)
	if err != nil {
		return c.done, err
	}
	ledger := casebook.Register{Book: to, ID: casebook.Ledger}
	if _, err := ledger.Append(ctx, c.heads[casebook.Ledger], casebook.NewLedgerEntry(id, at, "lowtide seal", "", casebook.StoreSealed{Head: report.Head, Records: report.Records})); err != nil {
		return c.done, err
	}
	after, err := to.Verify(ctx)
	if err == nil && !after.Sound() {
		err = fmt.Errorf("seal: the copy: %w: %s", casebook.ErrBroken, after.Defects[0])
	}
	return c.done, err
}

type copier struct {
	to    casebook.Book
	from  casebook.Store
	heads map[string]string
	// blobs maps a plain blob to its sealed one, by case.
	blobs map[string]map[string]string
	done  Copied
}

// page appends links, those of one case that follow each other in one step.
func (c *copier) page(ctx context.Context, links []casebook.Link) (err error) {
	var run []casebook.Record
	for i, l := range links {
		r, err := c.record(ctx, l.Record)
		if err != nil {
			return err
		}
		run = append(run, r)
		if i+1 < len(links) && links[i+1].Case == l.Case {
			continue
		}
		if c.heads[l.Case], err = c.to.AppendRecords(ctx, c.heads[l.Case], run...); err != nil {
			return err
		}
		c.done.Entries += int64(len(run))
		run = nil
	}
	return nil
}

// record is what is kept of a plain record: the same bytes, but for the names of blobs.
func (c *copier) record(ctx context.Context, r casebook.Record) (casebook.Record, error) {
	e, err := casebook.DecodeRecord(r)
	if err != nil {
		return r, err
	}
	if b, ok := e.Body.(casebook.FileBrought); ok {
		// The file came from elsewhere: its name stays, what this store calls it does not.
		if b.Kept, err = c.blob(ctx, casebook.BroughtFor(r.Case), b.Kept); err != nil {
			return r, err
		}
		e.Body = b
		r.Bytes, err = e.MarshalJSON()
		return r, err
	}
	if len(e.Blobs) == 0 {
		return r, nil
	}
	names := make([]string, len(e.Blobs))
	for i, hash := range e.Blobs {
		names[i], err = c.blob(ctx, r.Case, hash)
		if errors.Is(err, casebook.ErrNotFound) {
			// The store verifies, so this is the name of a file from elsewhere.
			names[i], err = hash, nil
		}
		if err != nil {
			return r, err
		}
	}
	e.Blobs = names
	r.Bytes, err = e.MarshalJSON()
	return r, err
}

// compare reads every case out of both stores and compares them entry by entry.
func (c *copier) compare(ctx context.Context) error {
	heads, err := c.from.Cases(ctx)
	if err != nil {
		return err
	}
	for _, h := range heads {
		plain, err := c.from.Case(ctx, h.Case)
		if err != nil {
			return err
		}
		sealed, err := c.to.Store.Case(ctx, h.Case)
		if err != nil {
			return err
		}
		if len(plain) != len(sealed) {
			return fmt.Errorf("seal: case %s: %w: the copy has %d entries of %d", h.Case, casebook.ErrBroken, len(sealed), len(plain))
		}
		for i, l := range plain {
			want, err := c.record(ctx, l.Record)
			if err != nil {
				return err
			}
			got, err := c.to.Sealer.Open(ctx, nil, sealed[i].Record)
			if err != nil {
				return err
			}
			if sealed[i].ID != want.ID || !bytes.Equal(got, want.Bytes) {
				return fmt.Errorf("seal: entry %s of case %s: %w: the copy reads otherwise", l.ID, l.Case, casebook.ErrBroken)
			}
		}
	}
	return nil
}

func (c *copier) blob(ctx context.Context, caseID, hash string) (string, error) {
	if c.blobs[hash] == nil {
		c.blobs[hash] = map[string]string{}
	}
	if name, ok := c.blobs[hash][caseID]; ok {
		return name, nil
	}
	content, err := c.from.Blob(ctx, hash)
	if err != nil {
		return "", err
	}
	name, err := c.to.PutBlob(ctx, caseID, content)
	if err != nil {
		return "", err
	}
	back, err := c.to.Blob(ctx, caseID, name)
	if err == nil && !bytes.Equal(back, content) {
		err = fmt.Errorf("seal: blob %s: %w: the copy reads otherwise", hash, casebook.ErrBroken)
	}
	c.blobs[hash][caseID] = name
	c.done.Blobs++
	return name, err
}

func (c *copier) unclaimed(ctx context.Context) error {
	hashes, err := c.from.BlobHashes(ctx)
	if err != nil {
		return err
	}
	for _, hash := range hashes {
		if c.blobs[hash] == nil {
			if _, err := c.blob(ctx, casebook.Unclaimed, hash); err != nil {
				return err
			}
			c.done.Unclaimed++
		}
	}
	return nil
}
