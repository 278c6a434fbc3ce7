// Command gen writes docs/hazards/README.md from the data of package hazard. Run it from the top of the tree:
//
//	go run ./docs/hazards/gen
package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"lowtide/rule/hazard"
)

func main() {
	if err := os.WriteFile(filepath.Join("docs", "hazards", "README.md"), document(hazard.All()), 0o644); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

const head = `# Hazards

Each way in which Lowtide, or its use, could hurt somebody: cause, harm, who notices, how bad and how likely, what is done
against it, the tests that hold it, what remains, and who has to accept that in a service that uses the program.

The steps are those of ISO 14971:2019: hazards and hazardous situations, estimate, evaluate, control (by design, by
protection, by information), what remains, review. Use errors are marked, as IEC 62366-1 asks. Both are from memory. Every
class is an estimate from memory: the program has not been tried on patients and is not approved as a medical device
anywhere. Nobody has accepted anything yet; the name says whose it would be.

A test fails when a rule, a piece of code, a page or a test named here does not exist, when a rule that can say Act now stands
against none of them, or when harm stays more likely than its severity allows. Each rule has besides its example cases
(TestRule/ID) and a story that brings it about and clears it (TestStories/ID).

This page is written by ` + "`go run ./docs/hazards/gen`" + ` from rule/hazard/data; the program shows the same under About, Hazards.

`

func document(list []hazard.Hazard) []byte {
	var b strings.Builder
	b.WriteString(head)
	classes := func(title string, list []hazard.Class) {
		fmt.Fprintf(&b, "| %s | means |\n|---|---|\n", title)
		for _, c := range list {
			fmt.Fprintf(&b, "| %s | %s |\n", c.Name, c.Words)
		}
		b.WriteString("\n")
	}
	classes("severity", hazard.Severities)
	classes("likelihood", hazard.Likelihoods)
	count(&b, list)
	group := ""
	for _, h := range list {
		if h.Group != group {
			group = h.Group
			fmt.Fprintf(&b, "## %s\n\n", group)
		}
		fmt.Fprintf(&b, "### %s: %s\n\n", h.ID, h.Title)
		use := ""
		if h.UseError {
			use = " (a use error)"
		}
		fmt.Fprintf(&b, "- Cause%s: %s\n- Harm: %s\n- Who notices: %s\n- Severity: %s. Likelihood: %s; with the controls: %s.\n", use, h.Cause, h.Harm, h.Notices, h.Severity, h.Likelihood, h.After)
		line := func(words string, names []string, mark string) {
			if len(names) == 0 {
				return
			}
			quoted := make([]string, len(names))
			for i, n := range names {
				quoted[i] = mark + n + mark
			}
			fmt.Fprintf(&b, "- %s: %s\n", words, strings.Join(quoted, ", "))
		}
		line("Rules", h.Rules, "")
		line("Code", h.Code, "`")
		line("Pages", h.Pages, "`")
		line("Tests", h.Tests, "")
		fmt.Fprintf(&b, "- What remains: %s\n- To be accepted by: %s\n\n", h.Remains, h.Accepts)
	}
	return []byte(b.String())
}

// count says how many hazards there are of each severity and likelihood, without and with the controls.
func count(b *strings.Builder, list []hazard.Hazard) {
	fmt.Fprintf(b, "%d hazards, by severity and likelihood, without and with their controls:\n\n| severity |", len(list))
	for _, l := range hazard.Likelihoods {
		fmt.Fprintf(b, " %s |", l.Name)
	}
	b.WriteString("\n|---|" + strings.Repeat("---|", len(hazard.Likelihoods)) + "\n")
	for _, s := range hazard.Severities {
		fmt.Fprintf(b, "| %s |", s.Name)
		for _, l := range hazard.Likelihoods {
			before, after := 0, 0
			for _, h := range list {
				if h.Severity == s.Name && h.Likelihood == l.Name {
					before++
				}
				if h.Severity == s.Name && h.After == l.Name {
					after++
				}
			}
			fmt.Fprintf(b, " %d → %d |", before, after)
		}
		b.WriteString("\n")
	}
	b.WriteString("\n")
}
