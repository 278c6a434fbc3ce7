package page

import (
	"slices"
	"testing"

	"lowtide/casebook"
	"lowtide/rule"
)

// TestEveryStepHasItsForm: whatever form the table of acts names is a page, with words for its button.
func TestEveryStepHasItsForm(t *testing.T) {
	table, forms := rule.Plans(), []string{}
	for _, s := range table.Steps {
		forms = append(forms, s.Form)
	}
	for _, v := range table.Verbs {
		for _, f := range v.Forms {
			forms = append(forms, f)
		}
	}
	for _, f := range table.Unknown {
		forms = append(forms, f)
	}
	for _, f := range forms {
		if f == "" {
			continue
		}
		if !slices.Contains([]string{"asked", "log", "stores"}, f) && casebook.Find(casebook.Kind(f)) == nil {
			t.Errorf("%q is no kind of entry and no page", f)
			continue
		}
		if l := answerOf("x", f); l.Href == "" || l.Words == "" {
			t.Errorf("%q leads nowhere: %+v", f, l)
		}
	}
}
