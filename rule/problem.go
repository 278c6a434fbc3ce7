package rule

import (
	"fmt"
	"strings"
)

// Problem is one thing that is wrong with a pack of rules.
type Problem struct {
	// File is the path within the folder, Key the place in it, such as "value[1].unit"; empty for the whole file.
	File string `json:"file"`
	Key  string `json:"key,omitempty"`
	What string `json:"what"`
	// Do says what to do about it.
	Do string `json:"do"`
}

func (p Problem) String() string {
	place := p.File
	if p.Key != "" {
		place += ": " + p.Key
	}
	return fmt.Sprintf("%s: %s; %s", place, p.What, p.Do)
}

// Problems is everything that is wrong with a pack of rules.
type Problems []Problem

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i := range p {
		lines[i] = p[i].String()
	}
	return fmt.Sprintf("rule: %d problems:\n%s", len(p), strings.Join(lines, "\n"))
}
