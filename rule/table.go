package rule

import (
	"embed"
	_ "embed"
	"encoding/binary"
	"fmt"
	"io/fs"
	"math"
	"sort"
	"strings"
	"sync"
	"time"

	"lowtide/payer"
)

//go:generate go run ./gen

// table is the pack of the program as [Table] writes it: parsed and checked when it was written, so that loading it needs
// no TOML, no checks and no hashing. Tests hold it to the files.
//
//go:embed table.bin
var table string

// written are the files that are read as they are: the plan, by which the acts of a table are checked, and the payers' policies,
// which few cases need.
//
//go:embed payer plan
var written embed.FS

// tableHash is how many letters of the table the hash of the set is.
const tableHash = 64

// Builtin loads the pack that comes with the program. Its expressions are compiled when they are first asked for.
func Builtin() (*Set, error) {
	var found Problems
	s := &Set{hash: table[:tableHash]}
	s.payers = sync.OnceValue(builtinPayers)
	s.read(tableForms(table[tableHash:]), &found)
	for _, r := range s.rules {
		if r.Withdrawn == nil {
			r.made = &made{}
		}
	}
	s.link(&found)
	if len(found) > 0 {
		return nil, found
	}
	s.finish()
	return s, nil
}

// builtinPayers reads the policies that come with the program, which few cases need.
func builtinPayers() []*payer.Policy {
	var found Problems
	list := loadPayers(written, &found)
	if len(found) > 0 {
		panic("rule: " + found.Error())
	}
	return list
}

// Table writes a pack as the program carries it: the hash of the set, then for each file its path and its TOML as a tree.
// It returns Problems when the pack is not sound.
func Table(fsys fs.FS) ([]byte, error) {
	s, err := Load(fsys)
	if err != nil {
		return nil, err
	}
	out := []byte(s.hash)
	var found Problems
	for _, folder := range []string{"data", "source", "value"} {
		files(fsys, folder, &found, func(file string, raw []byte) {
			if f := readTOML(file, raw, &found); f != nil {
				out = appendTree(appendText(out, file), f.table)
			}
		})
	}
	if len(found) > 0 {
		return nil, found
	}
	return out, nil
}

// The kinds of node of a tree.
const (
	nodeText = iota
	nodeInt
	nodeFloat
	nodeYes
	nodeNo
	nodeTime
	nodeTable
	nodeTables
	nodeList
)

func appendText(out []byte, s string) []byte {
	return append(binary.AppendUvarint(out, uint64(len(s))), s...)
}

// appendTree writes a value as TOML has it: one byte for its kind, then its content; keys are sorted.
func appendTree(out []byte, v any) []byte {
	switch v := v.(type) {
	case string:
		return appendText(append(out, nodeText), v)
	case int64:
		return binary.AppendVarint(append(out, nodeInt), v)
	case float64:
		return binary.LittleEndian.AppendUint64(append(out, nodeFloat), math.Float64bits(v))
	case bool:
		if v {
			return append(out, nodeYes)
		}
		return append(out, nodeNo)
	case time.Time: // a date
		return binary.AppendVarint(append(out, nodeTime), v.Unix())
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		sort.Strings(keys)
		out = binary.AppendUvarint(append(out, nodeTable), uint64(len(keys)))
		for _, k := range keys {
			out = appendTree(appendText(out, k), v[k])
		}
		return out
	case []map[string]any:
		out = binary.AppendUvarint(append(out, nodeTables), uint64(len(v)))
		for _, x := range v {
			out = appendTree(out, x)
		}
		return out
	case []any:
		out = binary.AppendUvarint(append(out, nodeList), uint64(len(v)))
		for _, x := range v {
			out = appendTree(out, x)
		}
		return out
	}
	panic(fmt.Sprintf("rule: a table cannot hold a %T", v))
}

// reader reads what appendTree wrote; it panics on anything else, which a test of the table rules out. Texts are parts of
// the table and are not copied.
type reader struct{ rest string }

func (r *reader) count() int {
	var n uint64
	for shift := 0; ; shift += 7 {
		b := r.rest[0]
		r.rest = r.rest[1:]
		if n |= uint64(b&0x7f) << shift; b < 0x80 {
			return int(n)
		}
	}
}

// number undoes the zigzag of a signed number.
func (r *reader) number() int64 {
	n := uint64(r.count())
	return int64(n>>1) ^ -int64(n&1)
}

func (r *reader) text() string {
	n := r.count()
	s := r.rest[:n]
	r.rest = r.rest[n:]
	return s
}

func (r *reader) tree() any {
	kind := r.rest[0]
	r.rest = r.rest[1:]
	switch kind {
	case nodeText:
		return r.text()
	case nodeInt:
		return r.number()
	case nodeFloat:
		var bits uint64
		for i := range 8 {
			bits |= uint64(r.rest[i]) << (8 * i)
		}
		r.rest = r.rest[8:]
		return math.Float64frombits(bits)
	case nodeYes, nodeNo:
		return kind == nodeYes
	case nodeTime:
		return time.Unix(r.number(), 0).UTC()
	case nodeTable:
		return r.table()
	case nodeTables:
		out := make([]map[string]any, r.count())
		for i := range out {
			out[i] = r.tree().(map[string]any)
		}
		return out
	case nodeList:
		out := make([]any, r.count())
		for i := range out {
			out[i] = r.tree()
		}
		return out
	}
	panic("rule: the table is damaged")
}

func (r *reader) table() map[string]any {
	n := r.count()
	out := make(map[string]any, n)
	for range n {
		k := r.text()
		out[k] = r.tree()
	}
	return out
}

// tableForms reads the files of a table.
func tableForms(text string) forms {
	type file struct {
		path string
		tree map[string]any
	}
	var list []file
	for r := (reader{text}); r.rest != ""; {
		list = append(list, file{r.text(), r.tree().(map[string]any)})
	}
	return func(folder string, found *Problems, read func(*fields)) {
		for _, f := range list {
			if strings.HasPrefix(f.path, folder+"/") {
				read(&fields{file: f.path, table: f.tree, seen: map[string]bool{}, found: found})
			}
		}
	}
}
