package cli

import (
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/report/csv"
	"lowtide/review"
	"lowtide/state"
)

func init() { commands = append(commands, newTables) }

// newTables writes tables for quality work from a store or from case files.
func newTables() *cobra.Command {
	var frame frameFlags
	var asOf, keyFile string
	var asJSON, deidentify, dictionary bool
	var fewest int
	c := &cobra.Command{
		Use:   "tables visits|wounds|days [CASEFILE...]",
		Short: "Write one row a visit, a wound or a day, for quality work",
		Long:  "Reads every case of the store, or the case files that are named, and writes a table as CSV, or as JSON with its\ndictionary. docs/format/tables.md explains the columns and what --deidentify does.",
		Args:  cobra.ArbitraryArgs,
	}
	frame.add(c)
	store := storeFlag(c)
	c.Flags().StringVar(&asOf, "as-of", "", "as of this time, such as 2026-03-04T08:00:00Z; default now")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	c.Flags().BoolVar(&deidentify, "deidentify", false, "leave out what may tell who somebody is, shift the dates of each case, suppress rare words")
	c.Flags().StringVar(&keyFile, "link-key", "", "file with at least 16 bytes, so that two de-identified tables can be linked; without it each export has a key of its own, which is not kept")
	c.Flags().IntVar(&fewest, "fewest", csv.DefaultFewest, "how many cases must share a word before a de-identified table shows it")
	c.Flags().BoolVar(&dictionary, "dictionary", false, "write what the columns of all tables mean, and nothing else")
	make := map[string]func([]csv.Item) csv.Table{"visits": csv.Visits, "wounds": csv.Wounds, "days": csv.Days}
	c.RunE = func(c *cobra.Command, args []string) error {
		if dictionary {
			return csv.WriteDictionary(c.OutOrStdout())
		}
		if len(args) == 0 || make[args[0]] == nil {
			return errUsage{errors.New("which table? type: lowtide tables visits, lowtide tables wounds or lowtide tables days")}
		}
		if fewest < 1 {
			return errUsage{errors.New("--fewest is at least 1")}
		}
		key, err := linkKey(keyFile)
		if err != nil {
			return err
		}
		items, err := tableItems(c, &frame, store, args[1:], asOf, asJSON)
		if err != nil {
			return err
		}
		t := make[args[0]](items)
		if deidentify {
			t = csv.Deidentify(t, csv.Options{Key: key, Fewest: fewest})
		}
		if asJSON {
			return t.WriteJSON(c.OutOrStdout())
		}
		return t.WriteCSV(c.OutOrStdout())
	}
	return c
}

// linkKey reads the key that links exports, or makes one that is forgotten.
func linkKey(file string) ([]byte, error) {
	if file == "" {
		key := make([]byte, 32)
		if _, err := random.Read(key); err != nil {
			return nil, err
		}
		return []byte(hex.EncodeToString(key)), nil
	}
	key, err := os.ReadFile(file)
	if err != nil {
		return nil, errUsage{fmt.Errorf("the link key cannot be read: %w", err)}
	}
	if len(key) < 16 {
		return nil, errUsage{fmt.Errorf("%s has %d bytes; a link key needs at least 16", file, len(key))}
	}
	return key, nil
}

// tableItems reviews every case of the files, or of the store when no file is named.
func tableItems(c *cobra.Command, frame *frameFlags, store *storeFlags, files []string, asOf string, asJSON bool) ([]csv.Item, error) {
	at, err := instant("--as-of", asOf)
	if err != nil {
		return nil, err
	}
	rules, err := ruleSet(c, frame.local)
	if err != nil {
		return nil, err
	}
	eq, err := frame.equipmentSet()
	if err != nil {
		return nil, err
	}
	var items []csv.Item
	add := func(folded *casebook.Case) {
		items = append(items, csv.Item{Review: review.Of(state.Of(folded, rules, eq, nil, at), rules)})
	}
	for _, name := range files {
		in, err := openCase(c, name, asJSON)
		if err != nil {
			return nil, err
		}
		defer in.close()
		f := fileCase{archive: in.archive}
		if f.file, err = checkedFile(c, in, asJSON, intake.Options{Now: later(at, now())}); err != nil {
			return nil, err
		}
		add(f.fold(at))
	}
	if len(files) > 0 {
		return items, nil
	}
	o, err := store.read(c)
	if err != nil {
		return nil, err
	}
	defer o.close()
	heads, err := o.store.Cases(c.Context())
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, h := range heads {
		ids = append(ids, h.Case)
	}
	slices.Sort(ids)
	for _, id := range ids {
		if casebook.Reserved(id) {
			continue
		}
		entries, _, err := o.book().Entries(c.Context(), id)
		if errors.Is(err, casebook.ErrErased) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if len(entries) > 0 {
			folded := casebook.FoldAt(id, entries, at)
			folded.Blob = func(name string) ([]byte, error) { return o.book().Blob(c.Context(), id, name) }
			add(folded)
		}
	}
	return items, nil
}
