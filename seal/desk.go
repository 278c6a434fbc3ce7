package seal

import (
	"context"
	"crypto/sha256"
	"errors"

	"lowtide/casebook"
)

// SplitDesk gives every call of a desk that was kept in one register ([casebook.CallsDesk]) a register and a key of its
// own, so that it can be erased with the case that it was joined to, and then destroys the key of the old register. It
// returns how many parts it moved; a desk that was split, or never was in one register, gives 0. One that was cut short
// goes on where it stopped: copies have the IDs that their originals give.
func (k *Keys) SplitDesk(ctx context.Context, store casebook.Store, d Deed) (int, error) {
	if old, there, err := k.store.CaseKey(ctx, casebook.CallsDesk); err != nil || !there || old.ErasedBy != "" {
		return 0, err
	}
	book := casebook.Book{Store: store, Sealer: k}
	parts, _, err := casebook.Register{Book: book, ID: casebook.CallsDesk}.Entries(ctx)
	if err != nil {
		return 0, err
	}
	for _, e := range parts {
		calls := casebook.CallsOf(e)
		if len(calls) == 0 || calls[0] == "" {
			// Nothing but calls was ever written there. What this program cannot read is not destroyed.
			return 0, errors.New("seal: the Call desk's register holds an entry that is no part of a call; it was left as it is")
		}
		e.Case = casebook.DeskCall(calls[0])
		e.ID = casebook.HashID(sha256.Sum256([]byte("part of a call\n" + e.ID)))
		register := casebook.Register{Book: book, ID: e.Case}
		for try := 0; ; try++ {
			_, head, err := register.Entries(ctx)
			if err == nil {
				_, err = register.Append(ctx, head, e)
			}
			if err != nil && (!errors.Is(err, casebook.ErrStale) || try == maxTries) {
				return 0, err
			}
			if err == nil {
				break
			}
		}
	}
	return len(parts), k.erase(ctx, store, casebook.CaseErased{Case: casebook.CallsDesk, Entries: len(parts)}, d)
}
