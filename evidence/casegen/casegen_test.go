package casegen

import (
	"encoding/json"
	"fmt"
	"reflect"
	"testing"
	"time"

	"lowtide/intake"
)

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

// TestSameSeedSameCase: a seed is a case, byte for byte.
func TestSameSeedSameCase(t *testing.T) {
	for seed := range uint64(50) {
		for name, of := range map[string]func(uint64, time.Time) Made{"case": Case, "hostile": Hostile} {
			a, _ := json.Marshal(of(seed, morning).Entries)
			b, _ := json.Marshal(of(seed, morning).Entries)
			if string(a) != string(b) {
				t.Fatalf("%s %d differs from itself", name, seed)
			}
		}
	}
}

// TestReachesEverything: every kind, every field and every allowed word of every field comes up within 1,200 cases, and
// nearly all entries pass intake.
func TestReachesEverything(t *testing.T) {
	said := map[string]map[string]bool{} // by field, what it held
	seen := map[string]bool{}
	var look func(path string, v reflect.Value, fields []place)
	look = func(path string, v reflect.Value, fields []place) {
		for _, f := range fields {
			at := path + "/" + f.Name
			if said[at] == nil {
				said[at] = map[string]bool{}
				for _, w := range f.Enum {
					said[at][w] = false
				}
			}
			x := v.FieldByIndex(f.index)
			if x.IsZero() {
				continue
			}
			seen[at] = true
			x = reflect.Indirect(x)
			switch {
			case f.Type == intake.TypeRows:
				for i := range x.Len() {
					look(at, x.Index(i), f.inner)
				}
			case f.Type == intake.TypeGroup:
				look(at, x, f.inner)
			case f.Type == intake.TypeWords:
				for i := range x.Len() {
					said[at][x.Index(i).String()] = true
				}
			case f.Type == intake.TypeText:
				said[at][x.String()] = true
			}
		}
	}
	entries, refused, several, pumps, ended, logs := 0, 0, 0, 0, 0, 0
	for seed := range uint64(1200) {
		c := Case(seed, morning)
		for _, e := range c.Entries {
			look(string(e.Kind), reflect.ValueOf(e.Body), shapes()[e.Kind].fields)
			if e.At.After(morning) || e.Recorded.After(morning) {
				t.Fatalf("case %d: entry %s lies in the future", seed, e.ID)
			}
		}
		if seed%8 == 0 {
			_, problems := c.File(morning)
			bad := map[string]bool{}
			for _, p := range problems {
				bad[p.Entry] = true
				if refused < 20 {
					t.Logf("case %d: %s", seed, p)
				}
			}
			refused += len(bad)
			entries += len(c.Entries)
		}
		k := c.Fold(morning)
		if len(k.Wounds) > 1 {
			several++
		}
		if len(k.Pumps) > 1 {
			pumps++
		}
		if k.Ended != nil {
			ended++
		}
		for _, l := range k.Logs {
			if l.Blob != "" {
				logs++
			}
		}
	}
	for field, words := range said {
		// Intake refuses a second clock position of a tunnel.
		if !seen[field] && field != "wound.measured/tunnels/to_clock" {
			t.Errorf("%s is never filled", field)
		}
		for w, ok := range words {
			if !ok {
				t.Errorf("%s never says %q", field, w)
			}
		}
	}
	t.Logf("of %d entries intake refused %d; of 1,200 cases %d have several wounds, %d several pumps, %d ended; %d logs", entries, refused, several, pumps, ended, logs)
	if refused*100 > entries {
		t.Errorf("intake refuses %d of %d entries", refused, entries)
	}
	for what, n := range map[string]int{"several wounds": several, "several pumps": pumps, "an ended therapy": ended, "a log": logs} {
		if n < 30 {
			t.Errorf("%d cases have %s", n, what)
		}
	}
}

// TestFileIsAccepted: what File gives, intake reads without a problem.
func TestFileIsAccepted(t *testing.T) {
	for seed := range uint64(40) {
		file, _ := Case(seed, morning).File(morning)
		if ps := intake.CheckEntries(nil, file.Entries, morning); ps.Err() != nil {
			t.Fatalf("case %d: %v", seed, ps)
		}
	}
}

// TestHostileFolds: the worst that a store can hand over still folds.
func TestHostileFolds(t *testing.T) {
	conflicts, unknown := 0, 0
	for seed := range uint64(400) {
		k := Hostile(seed, morning).Fold(morning)
		conflicts += k.Conflicts
		unknown += k.UnknownEntries
	}
	if conflicts < 100 || unknown < 100 {
		t.Errorf("%d conflicts, %d unknown entries", conflicts, unknown)
	}
}

func BenchmarkCase(b *testing.B) {
	n := 0
	for i := range b.N {
		n += len(Case(uint64(i), morning).Entries)
	}
	b.ReportMetric(float64(n)/float64(b.N), "entries/op")
}

// ExampleCase counts the wounds of an invented case.
func ExampleCase() {
	c := Case(7, time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)).Fold(time.Time{})
	fmt.Println(len(c.Wounds) > 0, c.Conflicts)
	// Output: true 0
}
