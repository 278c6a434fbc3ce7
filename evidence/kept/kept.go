// Package kept compares what a package says of invented inputs with what it said before. A row is a line of cells between
// tabs: the first names the input, each other one is a [Digest] or a word. It does not tell what is right; it shows that
// a changed number is one of what a nurse reads.
package kept

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

var longNumber = regexp.MustCompile(`\d+\.\d{5,}(e[-+]?\d+)?`)

// Digest is a short name of some content. Numbers count to so many digits: the last ones differ between processors.
// Error: the content cannot be written as JSON.
func Digest(v any, digits int) (string, error) {
	raw, err := json.Marshal(v)
	if err != nil {
		return "", err
	}
	raw = longNumber.ReplaceAllFunc(raw, func(b []byte) []byte {
		x, err := strconv.ParseFloat(string(b), 64)
		if err != nil {
			return b
		}
		return strconv.AppendFloat(nil, x, 'g', digits, 64)
	})
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:4]), nil
}

// Compare tells how rows differ from those of the file, a line for each column by its name; none is good. With write the file
// is written first. Error: the file cannot be read or written.
func Compare(file string, rows []byte, columns []string, write bool) ([]string, error) {
	if write {
		if err := os.WriteFile(file, rows, 0o644); err != nil {
			return nil, err
		}
	}
	want, err := os.ReadFile(file)
	if err != nil || bytes.Equal(want, rows) {
		return nil, err
	}
	differ := make([][]string, len(columns))
	a, b := strings.Split(string(want), "\n"), strings.Split(string(rows), "\n")
	for i := range min(len(a), len(b)) {
		x, y := strings.Split(a[i], "\t"), strings.Split(b[i], "\t")
		for k := range min(len(x), len(y), len(columns)) {
			if x[k] != y[k] {
				differ[k] = append(differ[k], y[0])
			}
		}
	}
	out := []string{fmt.Sprintf("%d rows, and %d are kept in %s", len(b), len(a), file)}
	for k, name := range columns {
		if in := slices.Compact(differ[k]); len(in) > 0 {
			out = append(out, fmt.Sprintf("%s: other in %d inputs: %s", name, len(in), strings.Join(in[:min(8, len(in))], ", ")))
		}
	}
	return out, nil
}
