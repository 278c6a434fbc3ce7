package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"filippo.io/age"
	"github.com/spf13/cobra"

	"lowtide/backup"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

func init() { commands = append(commands, newBackup, newRestore, newDrill) }

// recipients reads what --recipient names: recipients themselves, or files with one a line.
func recipients(named []string) ([]age.Recipient, error) {
	var list []age.Recipient
	for _, name := range named {
		text := name
		if !strings.HasPrefix(name, "age1") {
			raw, err := os.ReadFile(name)
			if err != nil {
				return nil, errUsage{fmt.Errorf("--recipient %q is neither a recipient (age1…) nor a file with one: %w", name, err)}
			}
			text = string(raw)
		}
		found, err := age.ParseRecipients(strings.NewReader(text))
		if err != nil {
			return nil, errUsage{fmt.Errorf("--recipient %q: %w", name, err)}
		}
		list = append(list, found...)
	}
	if len(list) == 0 {
		return nil, errUsage{errors.New("name for whom backups are encrypted: --recipient age1…; lowtide key identity FILE makes one")}
	}
	return list, nil
}

// identities reads identity files.
func identities(files []string) ([]age.Identity, error) {
	var list []age.Identity
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			return nil, errUsage{fmt.Errorf("--identity: %w", err)}
		}
		found, err := age.ParseIdentities(f)
		if err = errors.Join(err, f.Close()); err != nil {
			return nil, errUsage{fmt.Errorf("--identity %s: %w", name, err)}
		}
		list = append(list, found...)
	}
	if len(list) == 0 {
		return nil, errUsage{errors.New("name the file that opens the backup: --identity FILE (lowtide key identity made it)")}
	}
	return list, nil
}

// keyed opens a store out of a backup: with the key that was in it, or else with the one at hand.
func keyed(source seal.Source) backup.Keyed {
	return func(ctx context.Context, store casebook.KeyStore, withKey *seal.Key) (casebook.Sealer, error) {
		var keys *seal.Keys
		var err error
		if withKey != nil {
			keys, err = seal.Open(ctx, store, *withKey, random)
		} else {
			keys, err = source.Unlock(ctx, store, false)
		}
		if noKey(err) || (errors.Is(err, seal.ErrWrongKey) && withKey == nil) {
			// The chain can be checked without it.
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		return keys, nil
	}
}

// backupPlan is what to back up; key is put in when asked for.
func backupPlan(source seal.Source, path string, to []age.Recipient, withKey bool) (backup.Plan, error) {
	p := backup.Plan{Store: path, Recipients: to}
	if withKey {
		key, err := seal.ReadKeyFile(source.File)
		if err != nil {
			return p, fmt.Errorf("--with-key: %w", err)
		}
		p.Key = &key
	}
	return p, nil
}

// noteLedger writes into the ledger, or leaves a note for whoever has the store open for writing. Without a key it
// can do neither, and says so.
func (f *storeFlags) noteLedger(c *cobra.Command, body casebook.Body) error {
	at := now()
	id, err := casebook.NewID(at, random)
	if err != nil {
		return err
	}
	e := casebook.NewLedgerEntry(id, at, "lowtide "+c.Name(), "", body)
	o, err := f.write(c)
	if err == nil {
		return errors.Join(backup.Note(c.Context(), o.book(), e), o.close())
	}
	if errors.Is(err, sqlite.ErrLocked) {
		if o, err = f.read(c); err == nil {
			return errors.Join(backup.Leave(c.Context(), f.path, o.keys, e), o.close())
		}
	}
	fmt.Fprintln(c.ErrOrStderr(), "lowtide: this was not noted in the store's ledger:", err)
	return nil
}

func newBackup() *cobra.Command {
	var to []string
	var withKey, asJSON bool
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "Write an encrypted backup of a store, also while it is in use",
		Long: "Writes the store as it is at one moment, with its access log, encrypted to the recipient. A restore needs the\n" +
			"identity of the recipient and the store's key: the key file, or the passphrase. --with-key puts the key file into\n" +
			"the backup, so that the identity alone is enough.",
		Args: exactly(1, "a FILE that is not there yet"),
	}
	flags := storeFlag(c)
	c.Flags().StringArrayVar(&to, "recipient", nil, "for whom it is encrypted: age1…, or a file with recipients; can be given several times")
	c.Flags().BoolVar(&withKey, "with-key", false, "put the store's key into the backup")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		list, err := recipients(to)
		if err != nil {
			return err
		}
		plan, err := backupPlan(flags.source(c), flags.path, list, withKey)
		if err != nil {
			return err
		}
		m, size, err := plan.Write(c.Context(), args[0], now())
		if err != nil {
			return err
		}
		made := casebook.BackupMade{File: filepath.Base(args[0]), Bytes: size, WithKey: withKey, Store: m.Store, Defects: m.Defects}
		if err := flags.noteLedger(c, made); err != nil {
			return err
		}
		if asJSON {
			err = printJSON(c.OutOrStdout(), made)
		} else {
			err = printBackup(c.OutOrStdout(), args[0], m, size)
		}
		if err == nil && len(m.Defects) > 0 {
			return errQuiet
		}
		return err
	}
	return c
}

func printBackup(w io.Writer, file string, m backup.Manifest, size int64) error {
	for _, d := range m.Defects {
		fmt.Fprintln(w, "defect of the store:", d)
	}
	needs := "the store's key, " + m.Key
	switch {
	case m.WithKey:
		needs = "nothing else: the key is in it"
	case m.Holder == seal.FromPassphrase:
		needs = "the store's passphrase"
	}
	_, err := fmt.Fprintf(w, "%s: %d entries of %d cases, %d blobs; %d bytes.\nA restore needs the recipient's identity and %s.\nTry it out: lowtide drill %s --identity FILE\n",
		file, m.Store.Records, m.Store.Cases, m.Store.Blobs, size, needs, file)
	return err
}

// ageStart is how a file that age encrypted begins.
const ageStart = "age-encryption.org/v1"

func isBackup(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	start := make([]byte, len(ageStart))
	_, err = io.ReadFull(f, start)
	return err == nil && string(start) == ageStart
}

// checkBackup is lowtide check of a backup.
func checkBackup(c *cobra.Command, flags *storeFlags, ids []string, asJSON bool) error {
	list, err := identities(ids)
	if err != nil {
		return fmt.Errorf("%s is a backup: %w", flags.path, err)
	}
	file := flags.path
	x, err := backup.Check(c.Context(), file, "", list, keyed(flags.source(c)))
	if err != nil {
		return err
	}
	if asJSON {
		err = printJSON(c.OutOrStdout(), x)
	} else {
		x.Store.Defects = x.Defects
		for _, d := range x.Differences {
			fmt.Fprintln(c.OutOrStdout(), "difference:", d.Words)
		}
		if err = printCheck(c.OutOrStdout(), file, x.Store); err == nil {
			_, err = fmt.Fprintf(c.OutOrStdout(), "The backup was made at %s. Its store is sealed with key %s (%s).\n", x.Manifest.Made.Format(time.RFC3339), x.Manifest.Key, x.Manifest.Holder)
		}
	}
	if err == nil && len(x.Defects) > 0 {
		return errQuiet
	}
	return err
}

func newRestore() *cobra.Command {
	var ids []string
	var asJSON, yes bool
	c := &cobra.Command{
		Use:   "restore FILE",
		Short: "Restore a backup into an empty place",
		Long: "Restores a backup to --store, where nothing may be yet. The key must be at hand afterwards: the backup holds it if\n" +
			"it was made --with-key; otherwise put the key file beside the store (its name and .key), or know the passphrase.\n\n" +
			"Anybody can encrypt something to a recipient, which is no secret. So the key's ID, the date, the count and the head\n" +
			"are shown first, to be compared with what you know: the list of backups, or a seal of the day. --yes is for scripts.\n\n" +
			"A case that was erased after the backup was made is readable again in what is restored: erase it again.",
		Args: exactly(1, "the FILE of a backup"),
	}
	flags := storeFlag(c)
	c.Flags().StringArrayVar(&ids, "identity", nil, "file with the identity that opens the backup")
	c.Flags().BoolVar(&yes, "yes", false, "do not ask: the backup is known to be the right one")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		list, err := identities(ids)
		if err != nil {
			return err
		}
		if !yes {
			if err := askRestore(c, args[0], list); err != nil {
				return err
			}
		}
		x, err := backup.Restore(c.Context(), args[0], list, flags.path, flags.keyFile(), keyed(flags.source(c)))
		if err != nil {
			return err
		}
		restored := casebook.StoreRestored{File: filepath.Base(args[0]), Made: x.Manifest.Made, Store: x.Store.Counts()}
		if err := flags.noteLedger(c, restored); err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), x)
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "%s: restored %d entries of %d cases, %d blobs, as they were at %s; the chain holds.\n",
			flags.path, x.Store.Records, x.Store.Cases, x.Store.Blobs, x.Manifest.Made.Format(time.RFC3339))
		if !x.Opened {
			fmt.Fprintf(c.OutOrStdout(), "The contents were not read: key %s (%s) is not at hand. Put the key file at %s, or use --passphrase, and type: lowtide check %s\n",
				x.Manifest.Key, x.Manifest.Holder, flags.keyFile(), flags.path)
		}
		fmt.Fprintln(c.OutOrStdout(), "Cases that were erased after that time are readable again here: erase them again.")
		return err
	}
	return c
}

// askRestore shows what a backup says of itself and asks whether it is the right one.
func askRestore(c *cobra.Command, file string, list []age.Identity) error {
	m, err := backup.Look(file, list)
	if err != nil {
		return err
	}
	text := fmt.Sprintf("%s says of itself:\n  made   %s\n  key    %s (%s)\n  store  %s of %s\n  head   %s\n", file, m.Made.Format(time.RFC3339), m.Key, m.Holder,
		problemCount(int(m.Store.Records), "record", "records"), problemCount(m.Store.Cases, "case", "cases"), m.Store.Head)
	if m.Access != nil {
		text += fmt.Sprintf("  access log  %s, head %s\n", problemCount(int(m.Access.Records), "line", "lines"), m.Access.Head)
	}
	fmt.Fprint(c.ErrOrStderr(), text, "Compare this with the list of backups, the key's copy and the last seal of the day. Whoever planted a backup can put any records in it.\n")
	answer, err := readLine(c.InOrStdin(), c.ErrOrStderr())("Restore it? Type yes: ")
	if err != nil || strings.TrimSpace(answer) != "yes" {
		return errUsage{errors.New("nothing was restored: nobody said yes. In a script, add --yes once what it says was compared")}
	}
	return nil
}

func newDrill() *cobra.Command {
	var ids []string
	var scratch string
	var asJSON, noStore bool
	c := &cobra.Command{
		Use:   "drill BACKUP",
		Short: "Try a backup out: restore it into a scratch place, verify and compare it, tell its age",
		Long: "BACKUP is a backup, or a folder of scheduled backups of which the newest is taken. The scratch place is emptied\n" +
			"again. The result is noted in the store's ledger.",
		Args: exactly(1, "a BACKUP or a folder of scheduled backups"),
	}
	flags := storeFlag(c)
	c.Flags().StringArrayVar(&ids, "identity", nil, "file with the identity that opens the backup")
	c.Flags().StringVar(&scratch, "scratch", "", "folder for the scratch place; the system's folder for temporary files if left out")
	c.Flags().BoolVar(&noStore, "no-store", false, "there is no store to compare with")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		list, err := identities(ids)
		if err != nil {
			return err
		}
		file, err := newestBackup(args[0])
		if err != nil {
			return err
		}
		live := flags.path
		if noStore {
			live = ""
		}
		d, err := backup.Drill(c.Context(), file, scratch, live, list, keyed(flags.source(c)), now())
		if err != nil {
			return err
		}
		d.File = filepath.Base(file)
		if live != "" {
			if err := flags.noteLedger(c, d.BackupDrilled); err != nil {
				return err
			}
		}
		if asJSON {
			err = printJSON(c.OutOrStdout(), d)
		} else {
			err = printDrill(c.OutOrStdout(), file, d, live != "")
		}
		if err == nil && !d.Good() {
			return errQuiet
		}
		return err
	}
	return c
}

// newestBackup takes the newest of a folder of scheduled backups.
func newestBackup(path string) (string, error) {
	if info, err := os.Stat(path); err != nil || !info.IsDir() {
		return path, err
	}
	list, err := backup.Schedule{Dir: path}.List()
	if err == nil && len(list) == 0 {
		err = errUsage{fmt.Errorf("there is no scheduled backup in %s", path)}
	}
	if err != nil {
		return "", err
	}
	return list[len(list)-1].Path, nil
}

func printDrill(w io.Writer, file string, d backup.Drilled, live bool) error {
	for _, defect := range d.Defects {
		fmt.Fprintln(w, "defect:", defect)
	}
	if d.Made.IsZero() {
		_, err := fmt.Fprintf(w, "%s cannot be restored.\n", file)
		return err
	}
	fmt.Fprintf(w, "%s: made %s, %.1f hours ago; %d entries of %d cases, %d blobs; %s.\n",
		file, d.Made.Format(time.RFC3339), d.AgeH, d.Store.Records, d.Store.Cases, d.Store.Blobs, problemCount(len(d.Defects), "defect", "defects"))
	if live {
		fmt.Fprintf(w, "The store has gained %s since.\n", problemCount(int(d.Behind), "entry", "entries"))
	}
	if !d.Opened {
		fmt.Fprintln(w, "Not a good drill: no key was at hand, so the contents were not read. After a fire the key would be missing just so.")
	}
	return nil
}

// backupFlags are those of scheduled backups.
type backupFlags struct {
	schedule backup.Schedule
	to       []string
	withKey  bool
}

func (f *backupFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.schedule.Dir, "backup-to", "", "folder to write scheduled backups to; best on another disk")
	c.Flags().DurationVar(&f.schedule.Every, "backup-every", 24*time.Hour, "how often")
	c.Flags().IntVar(&f.schedule.Keep, "backup-keep", 14, "how many are kept")
	c.Flags().StringArrayVar(&f.to, "recipient", nil, "for whom backups are encrypted: age1…, or a file with recipients")
	c.Flags().BoolVar(&f.withKey, "backup-with-key", false, "put the store's key into each backup")
}

// tickEvery is how often a running server looks whether a backup is due, and into the ledger's inbox.
const tickEvery = time.Minute

// keepBackups takes notes into the ledger and makes backups as they are due, until ctx ends. The first problem of
// the flags is returned at once; later ones are told on stderr and tried again.
func (f *backupFlags) keepBackups(ctx context.Context, c *cobra.Command, o *opened, path string) (wait func(), err error) {
	var plan backup.Plan
	if f.schedule.Dir != "" {
		to, err := recipients(f.to)
		if err != nil {
			return nil, err
		}
		if f.schedule.Every < time.Minute || f.schedule.Keep < 1 {
			return nil, errUsage{errors.New("--backup-every is at least 1m, --backup-keep at least 1")}
		}
		if plan, err = backupPlan(o.source, path, to, f.withKey); err != nil {
			return nil, err
		}
		if _, err := f.schedule.List(); err != nil {
			return nil, errUsage{fmt.Errorf("--backup-to: %w; make the folder first", err)}
		}
	} else if len(f.to) > 0 || f.withKey {
		return nil, errUsage{errors.New("scheduled backups need a folder: --backup-to DIR")}
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(tickEvery)
		defer tick.Stop()
		for {
			if err := f.tick(ctx, o, path, plan); err != nil && ctx.Err() == nil {
				fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
			}
			select {
			case <-tick.C:
			case <-ctx.Done():
				return
			}
		}
	}()
	return func() { <-done }, nil
}

// tick does what is due now.
func (f *backupFlags) tick(ctx context.Context, o *opened, path string, plan backup.Plan) error {
	if _, err := backup.TakeIn(ctx, path, o.book()); err != nil {
		return err
	}
	if f.schedule.Dir == "" {
		return nil
	}
	due, err := f.schedule.Due(now())
	if err != nil || now().Before(due) {
		return err
	}
	at := now()
	file, m, size, err := f.schedule.Run(ctx, plan, at)
	if file == "" {
		return err
	}
	id, idErr := casebook.NewID(at, random)
	if idErr != nil {
		return idErr
	}
	made := casebook.BackupMade{File: filepath.Base(file), Bytes: size, WithKey: m.WithKey, Store: m.Store, Defects: m.Defects}
	err = errors.Join(err, backup.Note(ctx, o.book(), casebook.NewLedgerEntry(id, at, "lowtide serve", "", made)))
	if len(m.Defects) > 0 {
		err = errors.Join(err, fmt.Errorf("the store does not verify (%d defects; the first: %s); no old backup was removed. Run lowtide check", len(m.Defects), m.Defects[0]))
	}
	return err
}
