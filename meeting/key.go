package meeting

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"filippo.io/age"

	"lowtide/casebook"
)

// keyRegister is the register with the key that opens envelopes. It is sealed like everything else in the store.
const keyRegister = "~meeting"

const kindKey casebook.Kind = "meeting.key"

// keyMade is the server's key.
type keyMade struct {
	Identity string `json:"identity"`
}

// Kind implements [casebook.Body].
func (keyMade) Kind() casebook.Kind { return kindKey }

func init() { casebook.Own[keyMade](kindKey) }

// ServerKey is the key that opens the envelopes of this store's devices; the first call makes it.
func ServerKey(ctx context.Context, book casebook.Book, now time.Time) (*age.X25519Identity, error) {
	register := casebook.Register{Book: book, ID: keyRegister}
	for try := 0; ; try++ {
		entries, head, err := register.Entries(ctx)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			if b, ok := e.Body.(keyMade); ok {
				return age.ParseX25519Identity(b.Identity)
			}
		}
		key, err := age.GenerateX25519Identity()
		if err != nil {
			return nil, err
		}
		e := casebook.Entry{ID: casebook.HashID(sha256.Sum256([]byte(key.Recipient().String()))), Case: keyRegister, Kind: kindKey, Version: 1, At: now, Recorded: now, Author: "lowtide", Body: keyMade{key.String()}}
		if _, err = register.Append(ctx, head, e); err != nil && (try == maxTries || !errors.Is(err, casebook.ErrStale)) {
			return nil, fmt.Errorf("meeting: keep the server's key: %w", err)
		}
	}
}
