package intake

import (
	"net/url"
	"sort"
	"strings"
)

// maxFormDepth bounds the parts of a field's name.
const maxFormDepth = 12

// twig is a form's field names, split at their slashes.
type twig struct {
	name   string
	values []string
	preset bool
	sub    map[string]*twig
}

// branch makes a tree of the names.
func branch(form url.Values) *twig {
	root := &twig{}
	names := make([]string, 0, len(form))
	for name := range form {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		if strings.HasPrefix(name, "-") || name == "" {
			continue
		}
		path, preset := strings.CutSuffix(name, "?")
		t := root
		segs := strings.Split(path, "/")
		if len(segs) > maxFormDepth {
			segs = []string{path}
		}
		for i, seg := range segs {
			if t.sub == nil {
				t.sub = map[string]*twig{}
			}
			if t.sub[seg] == nil {
				t.sub[seg] = &twig{name: strings.Join(segs[:i+1], "/")}
			}
			t = t.sub[seg]
		}
		for _, v := range form[name] {
			if v = strings.TrimSpace(strings.ReplaceAll(v, "\r\n", "\n")); v != "" && (!preset || len(t.values) == 0) {
				t.values = append(t.values, v)
				t.preset = preset
			}
		}
	}
	return root
}

// filled tells whether a value was typed, here or below.
func (t *twig) filled() bool {
	if len(t.values) > 0 && !t.preset {
		return true
	}
	for _, s := range t.sub {
		if s.filled() {
			return true
		}
	}
	return false
}

func keysOf(m map[string]*twig) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Slice(keys, func(i, j int) bool {
		if len(keys[i]) != len(keys[j]) && isIndex(keys[i]) && isIndex(keys[j]) {
			return len(keys[i]) < len(keys[j])
		}
		return keys[i] < keys[j]
	})
	return keys
}

func isIndex(s string) bool {
	return s != "" && len(s) < 7 && strings.Trim(s, "0123456789") == "" && (s == "0" || s[0] != '0')
}
