package intake

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestHostile: files made to cost much end with a bounded list of problems. The bound on time is far above
// what they take, and far below what a cost that grows with the square would.
func TestHostile(t *testing.T) {
	head := `{"format":"lowtide.case","version":1,"case":"c","entries":[`
	note := `{"kind":"note.written","at":"2026-03-02T10:00:00+01:00","body":{"text":"x"`
	fill := func(unit string, n int) []byte { return []byte(head + strings.Repeat(unit, n) + "]}") }
	var unknown, wounds bytes.Buffer
	unknown.WriteString(head + note)
	for i := range 100_000 {
		fmt.Fprintf(&unknown, `,"fielb%d":1`, i)
	}
	unknown.WriteString("}}]}")
	wounds.WriteString(head)
	for i := range 10_000 {
		fmt.Fprintf(&wounds, `{"kind":"wound.found","at":"2026-03-01T10:00:00Z","body":{"wound":"W%d","site":"x","type":"other"}},`, i)
		fmt.Fprintf(&wounds, `{"kind":"pieces.accounted","at":"2026-03-02T10:00:00Z","body":{"wound":"V%d","filler":"foam","count":1,"outcome":"count was wrong","note":"xxx"}},`, i)
	}
	for name, raw := range map[string][]byte{
		"open lists":         []byte(strings.Repeat("[", 5_000_000)),
		"open objects":       []byte(strings.Repeat(`{"a":`, 2_000_000)),
		"small values":       fill("1,", 1_000_000),
		"empty entries":      fill("{},", 20_000),
		"same entries":       fill(note+"}},", 20_000),
		"commas":             fill(",", 1_000_000),
		"comments":           fill("/**/", 400_000),
		"unknown fields":     unknown.Bytes(),
		"unknown wounds":     append(bytes.TrimSuffix(wounds.Bytes(), []byte(",")), "]}"...),
		"quotes":             []byte(strings.Repeat(`"`, 5_000_000)),
		"long number":        []byte(head + strings.Repeat("9", 5_000_000) + "]}"),
		"long name":          []byte(`{"` + strings.Repeat("a", 5_000_000) + `":1}`),
		"duplicate fields":   []byte("{" + strings.Repeat(`"a":1,`, 300_000) + "}"),
		"too many bytes":     bytes.Repeat([]byte(" "), DefaultLimits.Bytes+1),
		"invalid everywhere": bytes.Repeat([]byte{'"', 0xff, '"', ','}, 1_000_000),
	} {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			_, ps := ReadCaseFile(raw, now)
			if ps.Err() == nil && name != "same entries" {
				t.Error("accepted")
			}
			if len(ps) > DefaultLimits.Problems+1 {
				t.Errorf("%d problems", len(ps))
			}
			took := time.Since(start)
			t.Logf("%d bytes, %d problems, %v", len(raw), len(ps), took)
			if took > 20*time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}
