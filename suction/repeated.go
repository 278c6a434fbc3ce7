package suction

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// repeated lists the names that stand more than once in one object. Readers of JSON differ in which of them they
// keep (RFC 8259, section 4), so the file does not say what is meant.
func repeated(raw []byte) []Problem {
	w := repeats{dec: json.NewDecoder(bytes.NewReader(raw))}
	w.dec.UseNumber()
	w.value("")
	return w.found
}

// repeats walks a document that is known to be JSON.
type repeats struct {
	dec   *json.Decoder
	found []Problem
}

func (w *repeats) value(place string) {
	tok, err := w.dec.Token()
	if err != nil {
		return
	}
	switch tok {
	case json.Delim('{'):
		seen := map[string]bool{}
		for w.dec.More() {
			key, err := w.dec.Token()
			name, ok := key.(string)
			if err != nil || !ok {
				return
			}
			at := place + "/" + escape(name)
			if seen[name] {
				w.found = append(w.found, Problem{at, "there more than once", fmt.Sprintf("keep one %q", name)})
			}
			seen[name] = true
			w.value(at)
		}
	case json.Delim('['):
		for i := 0; w.dec.More(); i++ {
			w.value(fmt.Sprintf("%s/%d", place, i))
		}
	default:
		return
	}
	_, _ = w.dec.Token() // the closing brace or bracket
}
