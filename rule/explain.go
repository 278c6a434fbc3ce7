package rule

import (
	"fmt"
	"strings"
)

// Explain prints everything about a rule as plain text.
func (r *Rule) Explain() string {
	var b strings.Builder
	line := func(name, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%-13s %s\n", name, value)
		}
	}
	fmt.Fprintf(&b, "%s  %s\n\n%s\n\n", r.ID, r.Title, r.StatementText())
	switch {
	case r.Withdrawn != nil:
		line("withdrawn", r.Withdrawn.Date.Format("2006-01-02")+": "+r.Withdrawn.Reason)
	case r.Off != nil:
		line("local", "switched off: "+r.Off.Reason+" ("+r.Off.By+")")
	case r.Local:
		line("local", "this rule comes from the local protocol")
	}
	line("area", string(r.Area))
	line("level", string(r.Level))
	line("cannot tell", string(r.UnknownLevel))
	line("asked", askedWords[r.Scope])
	line("applies", r.Applies)
	line("when", r.When)
	for _, v := range r.Values {
		line("value", fmt.Sprintf("%s = %s: %s", v.Name, v, v.Words))
		if v.Local {
			line("local value", fmt.Sprintf("from %s; built in %s; %s (%s)", v.Change.From.Format("2006-01-02"),
				v.OriginalString(), v.Change.Reason, v.Change.By))
		}
	}
	line("says", r.Headline)
	line("or", r.CannotTell)
	line("do", r.Do)
	line("due", r.Due)
	line("clears", r.Clears)
	line("rests on", r.Basis())
	until := "until further notice"
	if !r.Until.IsZero() {
		until = "until " + r.Until.Format("2006-01-02")
	}
	line("in force", "from "+r.From.Format("2006-01-02")+" "+until)
	for _, c := range r.Cases {
		line("example", fmt.Sprintf("%s: %s", c.Name, c.Want))
	}
	return b.String()
}

// askedWords say how often a rule of a scope is asked.
var askedWords = map[Scope]string{ScopeCase: "once a case", ScopeWound: "for each wound", ScopePump: "for each pump", ScopeCanister: "for each canister"}
