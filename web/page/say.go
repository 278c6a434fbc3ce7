package page

import (
	"lowtide/casebook"
	"lowtide/wording"
)

// Part is a label with what it says.
type Part struct{ Label, Text string }

// Said is the content of an entry in plain words: what happened, and the details in the order of the form.
type Said struct {
	Title string
	Parts []Part
}

// Say puts the content of an entry into words, times in the patient's zone.
func Say(body casebook.Body, k Clock) Said {
	said := wording.Say(body, k.At)
	out := Said{Title: said.Title}
	for _, p := range said.Parts {
		out.Parts = append(out.Parts, Part(p))
	}
	return out
}
