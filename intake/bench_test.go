package intake

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"lowtide/casebook"
)

// fourMonths is a case of 400 entries over four months, as daily work gives them.
func fourMonths() CaseFile {
	start := now.AddDate(0, -4, 0)
	num := func(x float64) *float64 { return &x }
	file := CaseFile{Format: Format, Version: FormatVersion, Case: "case-0001"}
	add := func(after time.Duration, b casebook.Body) {
		n := len(file.Entries)
		at := fixed(start.Add(after).In(time.FixedZone("", 3600)))
		file.Entries = append(file.Entries, casebook.Entry{ID: fmt.Sprintf("00000000-0000-7000-8000-%012x", n), Case: file.Case, Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: "n.demo", Body: b})
	}
	add(0, casebook.PersonRegistered{Name: "Invented Person", Place: "home", Zone: "Europe/Berlin"})
	add(0, casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure"})
	add(0, casebook.PumpAssigned{Pump: "P-1", CanisterML: num(300)})
	for i := 0; len(file.Entries) < 400; i++ {
		after := time.Duration(i) * 21 * time.Hour / 3
		switch i % 3 {
		case 0:
			add(after, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 2}}, In: []casebook.Pieces{{Filler: "foam", Count: 2}}, Periwound: []string{"intact"}}}, Seal: "holds", SuctionMmHg: num(125), Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(2)}, Note: "Nothing remarkable; the seal held since the last visit."})
		case 1:
			add(after, casebook.CanisterRead{VolumeML: num(120), Colour: "straw"})
		case 2:
			add(after, casebook.WoundMeasured{Wound: "A", LengthCm: num(6), WidthCm: num(4.5), DepthCm: num(2), Method: "ruler", Tissue: &casebook.Tissue{GranulationPct: 80, SloughPct: 20}})
		}
	}
	return file
}

// BenchmarkReadFourMonths reads and checks 400 entries.
func BenchmarkReadFourMonths(b *testing.B) {
	raw := write(b, fourMonths())
	b.SetBytes(int64(len(raw)))
	b.ReportAllocs()
	for b.Loop() {
		if f, ps := ReadCaseFile(raw, now); len(f.Entries) != 400 || ps != nil {
			b.Fatal(len(f.Entries), ps)
		}
	}
}

// BenchmarkParseOnly is the same file through encoding/json without any check, for comparison.
func BenchmarkParseOnly(b *testing.B) {
	raw := write(b, fourMonths())
	b.SetBytes(int64(len(raw)))
	for b.Loop() {
		var f CaseFile
		if err := json.Unmarshal(raw, &f); err != nil || len(f.Entries) != 400 {
			b.Fatal(err)
		}
	}
}

// BenchmarkReadGreatest reads a file of the greatest number of entries.
func BenchmarkReadGreatest(b *testing.B) {
	f := fourMonths()
	for i := len(f.Entries); i < DefaultLimits.Entries; i++ {
		e := f.Entries[3+i%300]
		e.ID = fmt.Sprintf("00000000-0000-7000-8000-%012x", i)
		f.Entries = append(f.Entries, e)
	}
	raw := write(b, f)
	b.SetBytes(int64(len(raw)))
	for b.Loop() {
		if f, ps := ReadCaseFile(raw, now); len(f.Entries) != DefaultLimits.Entries || ps != nil {
			b.Fatal(len(f.Entries), ps)
		}
	}
}
