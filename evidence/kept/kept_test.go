package kept

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
)

func TestCompare(t *testing.T) {
	file := filepath.Join(t.TempDir(), "kept.tsv")
	columns := []string{"seed", "facts", "plan"}
	say := func(rows string, write bool) []string {
		t.Helper()
		out, err := Compare(file, []byte(rows), columns, write)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	if _, err := Compare(file, nil, columns, false); !os.IsNotExist(err) {
		t.Errorf("without a file: %v", err)
	}
	if out := say("1\ta\tb\n2\tc\td\n", true); len(out) > 0 {
		t.Errorf("just written: %q", out)
	}
	if out := say("1\ta\tb\n2\tc\tx\n", false); !slices.Contains(out, "plan: other in 1 inputs: 2") {
		t.Errorf("another plan: %q", out)
	}
	for _, rows := range []string{"1\ta\tb\n", "1\ta\tb\n2\tc\td\n3\te\tf\n", "1\ta\tb\n2\tc\n"} {
		if len(say(rows, false)) == 0 {
			t.Errorf("%q counts as the same", rows)
		}
	}
}

func TestDigest(t *testing.T) {
	d := func(v any) string {
		t.Helper()
		s, err := Digest(v, 5)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	if d(1.0000012345) != d(1.0000012399) || d(1.00012345) == d(1.00092345) || d("a") == d("b") {
		t.Error("a digest takes five digits and no more")
	}
	if _, err := Digest(func() {}, 5); err == nil {
		t.Error("a function has a digest")
	}
}
