package casebook

import (
	"reflect"
	"regexp"
	"slices"
	"testing"
	"time"
)

// TestRows: every row has what the program draws from it.
func TestRows(t *testing.T) {
	seen := map[Kind]bool{}
	for _, k := range Table {
		if !regexp.MustCompile(`^[a-z]+\.[a-z]+$`).MatchString(string(k.Name)) || seen[k.Name] {
			t.Errorf("%q is no name of a kind, or is there twice", k.Name)
		}
		seen[k.Name] = true
		if k.Version < 1 || k.Title == "" {
			t.Errorf("%s: version %d, title %q", k.Name, k.Version, k.Title)
		}
		if _, err := time.Parse(time.DateOnly, k.Since); err != nil {
			t.Errorf("%s: since %q is no day", k.Name, k.Since)
		}
		offered := k.Menu.Group != ""
		if offered != (k.Menu.For != "") || offered && !slices.Contains(Groups, k.Menu.Group) {
			t.Errorf("%s: in group %q for %q", k.Name, k.Menu.Group, k.Menu.For)
		}
		if !offered && !k.Menu.Only && k.Name != KindEntryCorrected {
			t.Errorf("%s: no menu offers it and no page writes it", k.Name)
		}
		body, ok := reflect.ValueOf(k.New()).Elem().Interface().(Body)
		if !ok || body.Kind() != k.Name {
			t.Errorf("%s: its body says %v", k.Name, body)
		}
	}
}

// TestMenuOrder: kinds stand in the order of their places; those without one come last, in the order of the table.
func TestMenuOrder(t *testing.T) {
	before := Table
	t.Cleanup(func() { Table = before })
	row := func(name Kind, place, button int, page string) Row {
		return Row{Name: name, Menu: Menu{Group: MenuBedside, Place: place, Button: button, Page: page}}
	}
	Table = []Row{row("a", 0, 0, ""), row("b", 2, 1, ""), row("c", 1, 2, ""), row("d", 0, 0, "own"), {Name: "e"}}
	names := func(rows []Row) (out []Kind) {
		for _, k := range rows {
			out = append(out, k.Name)
		}
		return out
	}
	if got := names(InGroup(MenuBedside)); !slices.Equal(got, []Kind{"c", "b", "a", "d"}) {
		t.Errorf("menu: %v", got)
	}
	if got := names(Buttons()); !slices.Equal(got, []Kind{"b", "c", "a"}) {
		t.Errorf("buttons: %v", got)
	}
}

// TestForeignBody: a body that only claims a kind folds to nothing and does not break the case.
func TestForeignBody(t *testing.T) {
	c := Fold("c", []Entry{{ID: "1", Case: "c", Kind: KindCanisterRead, Version: 1, At: monday, Body: &CanisterRead{}}})
	if len(c.Log) != 1 || len(c.Canister) != 0 {
		t.Errorf("%+v", c)
	}
}
