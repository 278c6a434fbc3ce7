package wording

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

type claims struct{}

func (claims) Kind() casebook.Kind { return "moon.seen" }

// TestEveryBodyIsSaid: no body of any kind, nor one that no row knows, is left without words.
func TestEveryBodyIsSaid(t *testing.T) {
	at := func(t time.Time) string { return t.Format(time.DateTime) }
	for _, k := range casebook.Table {
		body := reflect.ValueOf(k.New()).Elem().Interface().(casebook.Body)
		if said := Say(body, at); strings.TrimSpace(said.Title) == "" {
			t.Errorf("%s: %+v", k.Name, said)
		}
	}
	if said := Say(nil, at); said.Title != "Entry without content" {
		t.Errorf("no body: %+v", said)
	}
	if said := Say(claims{}, at); said.Title != "Entry of an unknown kind (moon.seen)" || said.Parts != nil {
		t.Errorf("a kind without a row: %+v", said)
	}
}
