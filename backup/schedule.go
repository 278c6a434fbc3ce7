package backup

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"time"
)

// Schedule keeps backups in a folder: one every so often, the last so many.
type Schedule struct {
	Dir   string
	Every time.Duration
	Keep  int
}

// Kept is a backup of a schedule.
type Kept struct {
	Path string
	// Number counts the backups of a folder. Order follows it and not the clock, which may be set back.
	Number int
	At     time.Time
}

var keptName = regexp.MustCompile(`^lowtide-(\d{6,})-(\d{8}T\d{6}Z)\.age$`)

const keptTime = "20060102T150405Z"

// List returns the backups of the folder, oldest first. Files of other names are left alone.
func (s Schedule) List() ([]Kept, error) {
	files, err := os.ReadDir(s.Dir)
	if err != nil {
		return nil, fmt.Errorf("backup: the folder for backups: %w", err)
	}
	var list []Kept
	for _, f := range files {
		m := keptName.FindStringSubmatch(f.Name())
		if m == nil || !f.Type().IsRegular() {
			continue
		}
		number, err1 := strconv.Atoi(m[1])
		at, err2 := time.Parse(keptTime, m[2])
		if err1 == nil && err2 == nil {
			list = append(list, Kept{filepath.Join(s.Dir, f.Name()), number, at})
		}
	}
	slices.SortFunc(list, func(a, b Kept) int { return a.Number - b.Number })
	return list, nil
}

// Due tells when the next backup is due. A last one that lies ahead of the clock, which was then set back, does
// not put the next off.
func (s Schedule) Due(now time.Time) (time.Time, error) {
	list, err := s.List()
	if err != nil || len(list) == 0 {
		return now, err
	}
	if last := list[len(list)-1].At; !last.After(now) {
		return last.Add(s.Every), nil
	}
	return now, nil
}

// Run writes the next backup and then removes those that are too many, oldest first. A backup of a store with
// defects removes none: the older ones may be the better ones.
func (s Schedule) Run(ctx context.Context, p Plan, now time.Time) (file string, m Manifest, size int64, err error) {
	if err := s.sweep(); err != nil {
		return "", m, 0, err
	}
	list, err := s.List()
	if err != nil {
		return "", m, 0, err
	}
	number := 1
	if len(list) > 0 {
		number = list[len(list)-1].Number + 1
	}
	file = filepath.Join(s.Dir, fmt.Sprintf("lowtide-%06d-%s.age", number, now.UTC().Format(keptTime)))
	if m, size, err = p.Write(ctx, file, now); err != nil {
		return "", m, 0, err
	}
	if len(m.Defects) > 0 {
		return file, m, size, nil
	}
	for len(list)+1 > max(s.Keep, 1) {
		if err := os.Remove(list[0].Path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return file, m, size, fmt.Errorf("backup: an old backup could not be removed: %w", err)
		}
		list = list[1:]
	}
	return file, m, size, nil
}

var cutShort = regexp.MustCompile(`^lowtide-\d{6,}-\d{8}T\d{6}Z\.age\.(part|snapshot)`)

// sweep removes what backups that were cut short left in the folder.
func (s Schedule) sweep() error {
	files, err := os.ReadDir(s.Dir)
	if err != nil {
		return fmt.Errorf("backup: the folder for backups: %w", err)
	}
	for _, f := range files {
		if cutShort.MatchString(f.Name()) {
			if err := os.Remove(filepath.Join(s.Dir, f.Name())); err != nil {
				return fmt.Errorf("backup: %w", explain(err))
			}
		}
	}
	return nil
}
