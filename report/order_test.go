package report

import (
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
)

// The order says the risks in words, not by the IDs of their questions.
func TestOrderSaysRisksInWords(t *testing.T) {
	var ids []string
	for _, q := range casebook.Questions {
		ids = append(ids, q.ID)
	}
	e := casebook.Entry{ID: "o", Case: "c", Kind: casebook.KindOrderWritten, At: time.Unix(1e9, 0), Body: casebook.OrderWritten{AcceptsRisks: ids}}
	p := &Paper{}
	p.order(Input{Review: &review.Review{State: &state.State{Case: casebook.Fold("c", []casebook.Entry{e})}}})
	for _, b := range p.Blocks {
		if pairs, ok := b.(Pairs); ok {
			for _, q := range pairs.Items {
				if q.Label == "Risks confirmed in writing" {
					if strings.Contains(q.Text, "_") || strings.Count(q.Text, ";") < len(ids)-1 {
						t.Errorf("%s", q.Text)
					}
					return
				}
			}
		}
	}
	t.Error("the order does not say them")
}
