package rule

import (
	"bytes"
	"os"
	"reflect"
	"testing"
)

// TestTableIsFresh: what the program carries is what the files say; its hash is the computed one, and every rule compiles.
func TestTableIsFresh(t *testing.T) {
	raw, err := Table(os.DirFS("."))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(raw, []byte(table)) {
		t.Fatal("table.bin is stale: run go generate ./rule")
	}
	want, got := mustLoad(t, os.DirFS(".")), mustBuiltin(t)
	if got.Hash() != want.Hash() || got.computeHash() != want.Hash() {
		t.Errorf("hash %s, computed %s, of the files %s", got.Hash(), got.computeHash(), want.Hash())
	}
	for i, r := range got.Rules() {
		w := want.Rules()[i]
		if r.ID != w.ID || !reflect.DeepEqual(r.Values, w.Values) || !reflect.DeepEqual(r.Cases, w.Cases) || !reflect.DeepEqual(r.Acts, w.Acts) || r.StatementText() != w.StatementText() || r.Explain() != w.Explain() {
			t.Errorf("%s is not what its file says", r.ID)
		}
		if len(r.editions()) == 0 {
			t.Errorf("%s has no edition", r.ID)
		}
	}
}

func mustBuiltin(t testing.TB) *Set {
	t.Helper()
	s, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return s
}
