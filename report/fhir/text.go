package fhir

import (
	"bytes"
	"encoding/json"
)

// encode writes JSON as FHIR takes it: R4 allows no control character in a string but tab, line feed and carriage return,
// so each other one becomes U+FFFD. It is seen that something stood there.
func encode(v any) ([]byte, error) {
	raw, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	var out []byte // nil while nothing had to change
	for i := 0; i < len(raw); i++ {
		if raw[i] != '\\' {
			if out != nil {
				out = append(out, raw[i])
			}
			continue
		}
		n := 2 // bytes of the escape
		if raw[i+1] == 'u' {
			n = 6
		}
		escape := raw[i : i+n]
		control := raw[i+1] == 'b' || raw[i+1] == 'f' || n == 6 && bytes.HasPrefix(escape, []byte(`\u00`)) && (escape[4] == '0' || escape[4] == '1')
		if control && out == nil {
			out = append(make([]byte, 0, len(raw)+64), raw[:i]...)
		}
		switch {
		case control:
			out = append(out, `\ufffd`...)
		case out != nil:
			out = append(out, escape...)
		}
		i += n - 1
	}
	if out == nil {
		return raw, nil
	}
	return out, nil
}
