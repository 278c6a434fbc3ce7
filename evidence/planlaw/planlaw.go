// Package planlaw holds what Lowtide says about one case to the law of the plan: no plan, page or paper asks for two acts
// that the table of precedence calls incompatible, and whatever is to be acted on now has its act in the plan.
package planlaw

import (
	"fmt"
	"html"
	"regexp"
	"strings"

	"lowtide/review"
	"lowtide/rule"
	"lowtide/trouble"
)

// wordings are other words in which acts were once printed, or could be, beside those of the table.
var wordings = map[string][]string{
	"restore-suction": {"get it running", "get suction running", "get suction back", "see that it runs", "let it run all day", "start the suction again now"},
	"change-canister": {"new canister goes in now", "new canister goes in today", "put a new canister in", "put in a new canister", "change the canister now"},
	"seal":            {"find and cover the leak", "mend the leak"},
	"set-pump":        {"set what is ordered", "set the pump as the order says"},
	"dressing-off":    {"dressing taken off", "take the dressing off", "the dressing comes off", "take the filler out", "filler taken out now", "filler taken out today"},
	"change-dressing": {"change the dressing"},
	"plan-visit":      {"plan the visit, and tell"},
}

// Forbidden are the phrases, in lower case, that may not be printed while the acts stand in a plan, each with the two
// acts that fight.
func Forbidden(acts map[string]bool) map[string]string {
	table := rule.Plans()
	out := map[string]string{}
	for _, row := range table.Rows {
		if !acts[row.First] {
			continue
		}
		for _, waits := range row.Wait {
			why := row.First + " stands, and " + waits + " is told"
			verb, about, _ := strings.Cut(waits, " ")
			say, _, _ := strings.Cut(table.Verb(verb).Words(about, true), " (")
			for _, p := range append([]string{say}, wordings[waits]...) {
				out[strings.ToLower(p)] = why
			}
			if waits == "restore-suction" {
				for _, c := range trouble.BuiltIn().Checks {
					if c.ID != "read-program" && c.ID != "all-well" { // these only look and listen
						out[strings.ToLower(c.Say)] = why + " on the telephone (" + c.ID + ")"
					}
				}
			}
		}
	}
	return out
}

// Broken tells in what a review breaks the law.
func Broken(r *review.Review) []string {
	var wrong []string
	acts := Acts(r)
	because := map[string]rule.Level{}
	for _, s := range r.Plan {
		if s.Do == "" || len(s.Acts) == 0 || len(s.Because) == 0 {
			wrong = append(wrong, fmt.Sprintf("an empty step: %+v", s))
		}
		for _, key := range s.Because {
			if was, ok := because[key]; !ok || s.Level.Rank() < was.Rank() {
				because[key] = s.Level
			}
		}
	}
	for a := range acts {
		for b := range acts {
			if row := rule.Plans().Clash(a, b); row != nil {
				wrong = append(wrong, a+" and "+b+" are both in the plan")
			}
		}
	}
	told := ""
	for _, f := range r.Findings {
		if f.Level == rule.ActNow && because[f.Key()] != rule.ActNow {
			wrong = append(wrong, f.Key()+" is Act now and has no act of that level in the plan")
		}
		told += f.Headline + "\n" + f.Do + "\n"
	}
	return append(wrong, Printed(acts, told)...)
}

// Acts are the acts of a review's plan.
func Acts(r *review.Review) map[string]bool {
	acts := map[string]bool{}
	for _, s := range r.Plan {
		for _, a := range s.Acts {
			acts[a] = true
		}
	}
	return acts
}

// Printed tells which phrases of a text fight with acts.
func Printed(acts map[string]bool, text string) []string {
	var wrong []string
	text = strings.ToLower(text)
	for phrase, why := range Forbidden(acts) {
		if i := strings.Index(text, phrase); i >= 0 {
			wrong = append(wrong, fmt.Sprintf("%s: …%s…", why, text[max(0, i-100):min(len(text), i+len(phrase)+60)]))
		}
	}
	return wrong
}

var (
	unseen = regexp.MustCompile(`(?s)<(script|style|option|svg)\b.*?</(script|style|option|svg)>`)
	tag    = regexp.MustCompile(`<[^>]*>`)
	spaces = regexp.MustCompile(`\s+`)
)

// PageText is what a reader sees of a page, without what can be chosen in lists.
func PageText(page string) string {
	return spaces.ReplaceAllString(html.UnescapeString(tag.ReplaceAllString(unseen.ReplaceAllString(page, " "), " ")), " ")
}
