package backup

import (
	"context"
	"fmt"
	"time"

	"filippo.io/age"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
)

// Drilled is the result of a drill.
type Drilled struct {
	casebook.BackupDrilled
	// AgeH is how old the backup is, in hours; Behind is how many entries the store has gained since.
	AgeH   float64 `json:"age_h"`
	Behind int64   `json:"behind"`
}

// Drill tries a backup out: it unpacks it into scratch, verifies the chain, reads the contents with the key, and
// compares it with its manifest and with the store at live, of which it must be an earlier state. live may be ""
// when there is no store any more. A backup that cannot even be unpacked is a defect, not an error.
func Drill(ctx context.Context, file, scratch, live string, identities []age.Identity, keyed Keyed, now time.Time) (Drilled, error) {
	d := Drilled{BackupDrilled: casebook.BackupDrilled{File: file}}
	x, err := Check(ctx, file, scratch, identities, keyed)
	if ctx.Err() != nil {
		return d, err
	}
	if err != nil {
		d.Defects = append(d.Defects, err.Error())
		return d, nil
	}
	d.Made, d.Opened, d.Store, d.Defects = x.Manifest.Made, x.Opened, x.Store.Counts(), x.Defects
	for _, diff := range x.Differences {
		d.Defects = append(d.Defects, diff.Words)
	}
	d.AgeH = now.Sub(d.Made).Hours()
	if d.AgeH < 0 {
		d.Defects = append(d.Defects, fmt.Sprintf("the backup says that it was made at %s, which is still to come: set this computer's clock", d.Made.Format(time.RFC3339)))
	}
	if live == "" {
		return d, nil
	}
	s, err := sqlite.OpenReader(ctx, live)
	if err != nil {
		return d, err
	}
	defer s.Close()
	return d, d.against(ctx, s)
}

// against looks for the backup's last link in the store.
func (d *Drilled) against(ctx context.Context, s casebook.Store) error {
	end, err := s.Mark(ctx)
	if err != nil {
		return err
	}
	d.Behind = end.Count - d.Store.Records
	holds, err := casebook.Holds(ctx, s, casebook.Mark{Count: d.Store.Records, Head: d.Store.Head})
	if err != nil {
		return err
	}
	if !holds {
		d.Defects = append(d.Defects, "the store does not hold the backup's last entry: one of them belongs to another store, or the store was changed")
	}
	return nil
}
