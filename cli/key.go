package cli

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"filippo.io/age"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

func init() { commands = append(commands, newKeyCommand, newErase, newSealCommand) }

func newKeyCommand() *cobra.Command {
	c := &cobra.Command{Use: "key", Short: "Show, change and make keys"}
	c.AddCommand(newKeyShowID(), newKeyRotate(), newKeyIdentity())
	return c
}

// keyInfo is what may be told about a key.
type keyInfo struct {
	Store  string `json:"store"`
	ID     string `json:"id"`
	Holder string `json:"holder"`
	File   string `json:"file,omitempty"`
}

func newKeyShowID() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "show-id",
		Short: "Tell which key a store is sealed with; needs no key and shows none",
		Args:  exactly(0, "no argument"),
	}
	flags := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		s, err := sqlite.OpenReader(c.Context(), flags.path)
		if err != nil {
			return err
		}
		defer s.Close()
		meta, sealed, err := s.KeyMeta(c.Context())
		if err != nil {
			return err
		}
		if !sealed {
			return fmt.Errorf("%s: %w: lowtide seal makes a sealed copy", flags.path, casebook.ErrPlain)
		}
		info := keyInfo{Store: flags.path, ID: meta.ID, Holder: meta.Kind}
		if meta.Kind == seal.FromFile {
			info.File = flags.keyFile()
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), info)
		}
		words := "a passphrase"
		if info.File != "" {
			words = "a key file, looked for at " + info.File
			if key, err := seal.ReadKeyFile(info.File); err != nil {
				words += fmt.Sprintf(" (%v)", err)
			} else if key.ID() != meta.ID {
				words += ", which holds another key: " + key.ID()
			}
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "%s is sealed with key %s: %s.\n", flags.path, meta.ID, words)
		return err
	}
	return c
}

func newKeyRotate() *cobra.Command {
	var to, by, reason string
	var asJSON bool
	c := &cobra.Command{
		Use:   "rotate",
		Short: "Give a store a new key; nothing that serves may run meanwhile",
		Long: "Gives a store a new key: every case key is wrapped anew, in one step that is done whole or not at all. The old key\n" +
			"file is kept aside, since backups that were made before and hold no key of their own still need it.\n\n" +
			"The records are not written again: whoever has an old copy of the store together with the old key can still read\n" +
			"that copy, and the same cases in a newer copy. It helps when a key may have been seen, and the store was not copied.",
		Args: exactly(0, "no argument"),
	}
	flags := storeFlag(c)
	c.Flags().StringVar(&to, "to", "", "file or passphrase: where the new key comes from; as it is, if left out")
	c.Flags().StringVar(&by, "by", "", "who asks for it (required)")
	c.Flags().StringVar(&reason, "reason", "", "why (required)")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if by == "" || reason == "" || (to != "" && to != seal.FromFile && to != seal.FromPassphrase) {
			return errUsage{errors.New("say who and why, for example: lowtide key rotate --by \"A. Admin\" --reason \"a nurse has left\"; --to is file or passphrase")}
		}
		o, err := flags.write(c)
		if err != nil {
			return err
		}
		defer o.close()
		old := o.keys.Key()
		if to == "" {
			to = old.Meta().Kind
		}
		if to == seal.FromPassphrase {
			o.source.Passphrase = func(again bool) (string, error) { return newPassphrase(c, again) }
		}
		err = o.source.Rotate(c.Context(), o.store, o.keys, to, deed(by, reason))
		if errors.Is(err, casebook.ErrLingers) {
			fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
			err = nil
		}
		if err != nil {
			return err
		}
		info := keyInfo{Store: flags.path, ID: o.keys.Key().ID(), Holder: to}
		if to == seal.FromFile {
			info.File = flags.keyFile()
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), info)
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "%s is now sealed with key %s instead of %s.\nMake a backup now, and keep a copy of the new key apart from the store.\n", flags.path, info.ID, old.ID())
		if old.Meta().Kind == seal.FromFile {
			fmt.Fprintf(c.OutOrStdout(), "The old key is in %s. Backups made before today need it, unless they were made --with-key. Move it to where keys of backups are kept; destroy it when the last of them is gone.\n", o.source.Old(old.ID()))
		}
		return err
	}
	return c
}

// newPassphraseEnv holds the new passphrase of a rotation when nobody is there to type it.
const newPassphraseEnv = "LOWTIDE_NEW_PASSPHRASE"

func newPassphrase(c *cobra.Command, again bool) (string, error) {
	if text, ok := os.LookupEnv(newPassphraseEnv); ok {
		return text, nil
	}
	return typePassphrase(c, again)
}

func newKeyIdentity() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "identity FILE",
		Short: "Make the key pair that backups are encrypted to",
		Long: "Writes a new identity to FILE, for its owner alone, and prints its recipient. Backups are encrypted to the recipient,\n" +
			"which is no secret; only the identity opens them. Keep FILE away from the computer that has the store: on paper, in a\n" +
			"safe, on two sticks. Without it no backup can be restored. (Both are in the format of age, age-encryption.org/v1.)",
		Args: exactly(1, "a FILE to write"),
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		id, err := age.GenerateX25519Identity()
		if err != nil {
			return err
		}
		text := fmt.Sprintf("# Opens Lowtide backups made for %s\n%s\n", id.Recipient(), id)
		if err := writeNewText(args[0], text); err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), map[string]string{"file": args[0], "recipient": id.Recipient().String()})
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "%s\nThis recipient goes into: lowtide backup FILE --recipient …\nThe identity is in %s. Keep it away from this computer, twice; without it no backup can be restored.\n", id.Recipient(), args[0])
		return err
	}
	return c
}

func newErase() *cobra.Command {
	var by, reason, confirm string
	var asJSON bool
	c := &cobra.Command{
		Use:   "erase CASE",
		Short: "Destroy the key of a case, so that nobody can ever read it again",
		Long: "Destroys the key of a case. Its entries and photos stay in the store as bytes that nobody can read, the chain still\n" +
			"verifies, and the case shows as erased, by whom and why. It cannot be undone.\n\n" +
			"Backups made before hold the key still: they must age out, or be destroyed, before the case is really gone.",
		Args: exactly(1, "a CASE"),
	}
	flags := storeFlag(c)
	c.Flags().StringVar(&by, "by", "", "who asks for it (required)")
	c.Flags().StringVar(&reason, "reason", "", "why (required)")
	c.Flags().StringVar(&confirm, "confirm", "", "the case's ID once more (required)")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		id := args[0]
		if by == "" || reason == "" {
			return errUsage{fmt.Errorf("say who and why: lowtide erase %s --by \"A. Admin\" --reason \"test patient\" --confirm %s", id, id)}
		}
		if confirm != id {
			return errUsage{fmt.Errorf("erasing cannot be undone: name the case once more with --confirm %s", id)}
		}
		o, err := flags.write(c)
		if err != nil {
			return err
		}
		defer o.close()
		err = o.keys.Erase(c.Context(), o.store, id, deed(by, reason))
		switch {
		case errors.Is(err, casebook.ErrLingers):
			fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
		case errors.Is(err, casebook.ErrNotFound):
			return errUsage{fmt.Errorf("there is no case %q in %s; type: lowtide export --store %s", id, flags.path, flags.path)}
		case err != nil:
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), map[string]any{"case": id, "by": by, "reason": reason})
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "Case %s is erased. Backups made before today can still be read: they must age out or be destroyed.\n", id)
		return err
	}
	return c
}
