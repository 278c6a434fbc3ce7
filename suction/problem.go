package suction

import (
	"encoding/json"
	"fmt"
	"strings"
)

// Problem is one thing wrong in an input: where (a JSON pointer), what stands there, and what to do.
type Problem struct {
	Place  string `json:"place"`
	Value  string `json:"value"`
	Remedy string `json:"remedy"`
}

func (p Problem) String() string {
	place := p.Place
	if place == "" {
		place = "/"
	}
	return fmt.Sprintf("%s is %s: %s", place, p.Value, p.Remedy)
}

// escape writes a key for a JSON pointer (RFC 6901).
func escape(key string) string {
	return strings.ReplaceAll(strings.ReplaceAll(key, "~", "~0"), "/", "~1")
}

// show prints a value for a message, cut to a length that fits a line.
func show(v any) string {
	raw, err := json.Marshal(v)
	if err != nil {
		return "unreadable"
	}
	if text := []rune(string(raw)); len(text) > 60 {
		return string(text[:60]) + "…"
	}
	return string(raw)
}
