package backup

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"lowtide/casebook"
)

// A command that runs beside the one that writes to the store cannot write to its ledger. It leaves a sealed note in
// the store's inbox, a folder, and whoever has the store open for writing takes it in. A note opens with the
// ledger's key only, so nobody without the key can leave one.

// Inbox is where notes for a store's ledger wait.
func Inbox(store string) string { return store + ".inbox" }

type waiting struct {
	ID    string `json:"id"`
	Bytes []byte `json:"bytes"`
}

// Leave leaves a note for the ledger.
func Leave(ctx context.Context, store string, sealer casebook.Sealer, e casebook.Entry) error {
	raw, err := e.MarshalJSON()
	if err != nil {
		return err
	}
	sealed, err := sealer.Seal(ctx, casebook.Record{ID: e.ID, Case: casebook.Ledger, Bytes: raw})
	if err != nil {
		return err
	}
	text, err := json.Marshal(waiting{e.ID, sealed})
	if err != nil {
		return err
	}
	if err := os.MkdirAll(Inbox(store), 0o700); err != nil {
		return fmt.Errorf("backup: a note for the ledger: %w", explain(err))
	}
	name := filepath.Join(Inbox(store), e.ID+".note")
	if err := os.WriteFile(name+".part", text, 0o600); err != nil {
		return fmt.Errorf("backup: a note for the ledger: %w", explain(err))
	}
	return os.Rename(name+".part", name)
}

// TakeIn moves the notes of the inbox into the ledger and returns how many. A note that was taken in and not yet
// removed is the same entry, and kept once. One that does not open is renamed and told in the error.
func TakeIn(ctx context.Context, store string, book casebook.Book) (int, error) {
	names, err := filepath.Glob(filepath.Join(Inbox(store), "*.note"))
	if err != nil {
		return 0, err
	}
	var refused error
	n := 0
	for _, name := range names {
		e, err := readNote(ctx, name, book)
		if errors.Is(err, casebook.ErrBroken) {
			refused = errors.Join(refused, fmt.Errorf("backup: %s is no note of this store and was renamed: %w", name, err), os.Rename(name, strings.TrimSuffix(name, ".note")+".refused"))
			continue
		}
		if err != nil {
			return n, err
		}
		if err := Note(ctx, book, e); err != nil {
			return n, err
		}
		if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return n, err
		}
		n++
	}
	return n, refused
}

func readNote(ctx context.Context, name string, book casebook.Book) (casebook.Entry, error) {
	var w waiting
	text, err := os.ReadFile(name)
	if err != nil {
		return casebook.Entry{}, err
	}
	if err := json.Unmarshal(text, &w); err != nil {
		return casebook.Entry{}, fmt.Errorf("%w: %w", casebook.ErrBroken, err)
	}
	return book.Decode(ctx, casebook.Record{ID: w.ID, Case: casebook.Ledger, Bytes: w.Bytes})
}

// maxTries bounds how often a note is tried again when the ledger moved on meanwhile.
const maxTries = 20

// Note appends an entry to the ledger of a book that is open for writing.
func Note(ctx context.Context, book casebook.Book, e casebook.Entry) error {
	ledger := casebook.Register{Book: book, ID: casebook.Ledger}
	for try := 0; ; try++ {
		_, head, err := ledger.Entries(ctx)
		if err != nil {
			return err
		}
		if _, err = ledger.Append(ctx, head, e); !errors.Is(err, casebook.ErrStale) || try == maxTries {
			return err
		}
	}
}
