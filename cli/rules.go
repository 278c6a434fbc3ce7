package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"lowtide/rule"
)

func init() { commands = append(commands, newRules) }

// newRules shows the rules and their sources, and checks a local protocol folder.
func newRules() *cobra.Command {
	c := &cobra.Command{
		Use:   "rules",
		Short: "List and explain the rules, and test a local protocol",
		Args:  exactly(0, "one of list, explain, values, test"),
		RunE: func(c *cobra.Command, _ []string) error {
			return errUsage{errors.New("rules needs one of list, explain, values, test; type: lowtide rules --help")}
		},
	}
	local := c.PersistentFlags().String("local", "", "folder of a local protocol to lay over the built-in rules")
	asJSON := c.PersistentFlags().Bool("json", false, "print JSON")
	c.AddCommand(
		&cobra.Command{
			Use:   "list",
			Short: "List every rule with its level and what it rests on",
			Args:  exactly(0, "no argument"),
			RunE: func(c *cobra.Command, _ []string) error {
				return rulesList(c, *local, *asJSON)
			},
		},
		&cobra.Command{
			Use:   "explain ID",
			Short: "Explain one rule: expression, values, source, examples",
			Args:  exactly(1, "the ID of a rule"),
			RunE: func(c *cobra.Command, args []string) error {
				return rulesExplain(c, args[0], *local, *asJSON)
			},
		},
		&cobra.Command{
			Use:   "values",
			Short: "List the numbers that several rules, pages and papers go by",
			Args:  exactly(0, "no argument"),
			RunE: func(c *cobra.Command, _ []string) error {
				return rulesValues(c, *local, *asJSON)
			},
		},
		&cobra.Command{
			Use:   "test [FOLDER]",
			Short: "Check a local protocol folder and run the example cases of every rule",
			Args:  cobra.MaximumNArgs(1),
			RunE: func(c *cobra.Command, args []string) error {
				folder := *local
				if len(args) == 1 {
					folder = args[0]
				}
				return rulesTest(c, folder, *asJSON)
			},
		},
	)
	return c
}

// ruleSet loads the built-in rules and, when a folder is given, a local protocol over them. Problems of the folder
// are all listed, with exit code 2.
func ruleSet(c *cobra.Command, folder string) (*rule.Set, error) {
	s, err := rule.Builtin()
	if err != nil {
		return nil, err
	}
	if folder == "" {
		return s, nil
	}
	if info, err := os.Stat(folder); err != nil || !info.IsDir() {
		return nil, errUsage{fmt.Errorf("%s is not a folder; give the folder that holds protocol.toml", folder)}
	}
	local, err := s.WithLocal(os.DirFS(folder))
	var found rule.Problems
	if errors.As(err, &found) {
		if asJSON, _ := c.Flags().GetBool("json"); asJSON {
			if err := printJSON(c.ErrOrStderr(), map[string]any{"problems": found}); err != nil {
				return nil, err
			}
			return nil, errUsage{errQuiet}
		}
		for _, p := range found {
			fmt.Fprintln(c.ErrOrStderr(), p)
		}
		return nil, errUsage{fmt.Errorf("%s has %s and is not used", folder, problemCount(len(found), "problem", "problems"))}
	}
	return local, err
}

// ruleView is a rule as JSON, with its words beside its data.
type ruleView struct {
	*rule.Rule
	StatementText string      `json:"statement_text"`
	Basis         string      `json:"basis"`
	Source        rule.Source `json:"source_detail"`
	Changed       bool        `json:"changed_locally"`
}

func viewRule(r *rule.Rule) ruleView {
	return ruleView{r, r.StatementText(), r.Basis(), r.Source(), r.Changed()}
}

func rulesList(c *cobra.Command, folder string, asJSON bool) error {
	s, err := ruleSet(c, folder)
	if err != nil {
		return err
	}
	w := c.OutOrStdout()
	if asJSON {
		views := []ruleView{}
		for _, r := range s.Rules() {
			views = append(views, viewRule(r))
		}
		return printJSON(w, map[string]any{"hash": s.Hash(), "protocol": s.Protocol, "rules": views, "sources": s.Sources()})
	}
	area := rule.Area("")
	for _, r := range s.Rules() {
		if r.Area != area {
			area = r.Area
			fmt.Fprintf(w, "%s\n", area)
		}
		mark := ""
		switch {
		case r.Off != nil:
			mark = "  [switched off locally]"
		case r.Local:
			mark = "  [local rule]"
		case r.Changed():
			mark = "  [local value]"
		}
		fmt.Fprintf(w, "  %-16s %-8s %s%s\n", r.ID, r.Level, r.Title, mark)
	}
	fmt.Fprintf(w, "%d rules, %d sources, hash %.12s\n", len(s.Rules()), len(s.Sources()), s.Hash())
	return nil
}

// sharedView is a shared value as JSON, with its words and the rules that use it.
type sharedView struct {
	*rule.Shared
	Text  string   `json:"text"`
	Basis string   `json:"basis"`
	Rules []string `json:"rules"`
}

func rulesValues(c *cobra.Command, folder string, asJSON bool) error {
	s, err := ruleSet(c, folder)
	if err != nil {
		return err
	}
	views := []sharedView{}
	for _, v := range s.Shared() {
		view := sharedView{v, v.String(), v.Basis(), []string{}}
		for _, r := range v.Rules() {
			view.Rules = append(view.Rules, r.ID)
		}
		views = append(views, view)
	}
	w := c.OutOrStdout()
	if asJSON {
		return printJSON(w, map[string]any{"protocol": s.Protocol, "values": views})
	}
	for _, v := range views {
		fmt.Fprintf(w, "%s = %s: %s\n", v.Name, v.Text, v.Words)
		if words := v.LocalWords(); words != "" {
			fmt.Fprintf(w, "  local: %s\n", words)
		}
		if len(v.Rules) > 0 {
			fmt.Fprintf(w, "  rules: %s\n", strings.Join(v.Rules, " "))
		}
		if v.Also != "" {
			fmt.Fprintf(w, "  also: %s\n", v.Also)
		}
		fmt.Fprintf(w, "  rests on: %s\n", v.Basis)
	}
	return nil
}

func rulesExplain(c *cobra.Command, id, folder string, asJSON bool) error {
	s, err := ruleSet(c, folder)
	if err != nil {
		return err
	}
	r := s.Rule(id)
	if r == nil {
		return errUsage{fmt.Errorf("there is no rule %s; type: lowtide rules list", id)}
	}
	if asJSON {
		return printJSON(c.OutOrStdout(), viewRule(r))
	}
	_, err = io.WriteString(c.OutOrStdout(), r.Explain())
	return err
}

// rulesTest exits with 1 when an example fails. An example that a local value answers otherwise is shown, because
// that is what the local protocol changes, but does not fail.
func rulesTest(c *cobra.Command, folder string, asJSON bool) error {
	s, err := ruleSet(c, folder)
	if err != nil {
		return err
	}
	type line struct {
		Rule      string     `json:"rule"`
		Case      string     `json:"case"`
		Want      rule.State `json:"want"`
		Got       rule.State `json:"got"`
		WithLocal rule.State `json:"with_local"`
		OK        bool       `json:"ok"`
	}
	results, lines, failed := s.Test(), []line{}, 0
	for _, t := range results {
		lines = append(lines, line{t.Rule.ID, t.Case.Name, t.Case.Want, t.Got, t.WithLocal, t.OK()})
		if !t.OK() {
			failed++
		}
	}
	w := c.OutOrStdout()
	if asJSON {
		if err := printJSON(w, map[string]any{"protocol": s.Protocol, "hash": s.Hash(), "failed": failed, "cases": lines}); err != nil {
			return err
		}
	} else {
		for _, l := range lines {
			if !l.OK {
				fmt.Fprintf(w, "FAILS  %s, %s: want %s, got %s\n", l.Rule, l.Case, l.Want, l.Got)
			} else if l.WithLocal != l.Got && s.Protocol != "" {
				fmt.Fprintf(w, "local  %s, %s: built in %s, with the local values %s\n", l.Rule, l.Case, l.Got, l.WithLocal)
			}
		}
		fmt.Fprintf(w, "%d rules, %d examples, %d failed.\n", len(s.Rules()), len(results), failed)
	}
	if failed > 0 {
		return errQuiet
	}
	return nil
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
