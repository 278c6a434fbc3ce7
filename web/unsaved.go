package web

import (
	"maps"
	"slices"
	"strings"

	"lowtide/web/page"
)

// secret are fields that are never shown again. A form with one of them is typed anew.
var secret = []string{"password", "code", "secret", "step", "key"}

// sentAgain is the form of a request that could not be saved; nil when there is none, or when it holds a secret.
func sentAgain(r *Request) *page.SendAgain {
	fields, a := r.form, &page.SendAgain{Action: r.URL.RequestURI()}
	if r.upload != nil {
		fields, a.File = r.upload.fields, r.upload.part
	}
	if len(fields) == 0 && a.File == "" {
		return nil
	}
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		if slices.Contains(secret, name) {
			return nil
		}
		for _, value := range fields[name] {
			a.Fields = append(a.Fields, page.SentField{Name: name, Value: value})
			if !strings.HasPrefix(name, "-") && strings.TrimSpace(value) != "" {
				a.Typed = append(a.Typed, value)
			}
		}
	}
	return a
}
