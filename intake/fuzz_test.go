package intake

import (
	"bytes"
	"encoding/json"
	"net/url"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lowtide/casebook"
)

// FuzzReadCaseFile: no input panics, and what is accepted writes to a file that reads the same.
// Slow: a whole case is read, written and read again.
func FuzzReadCaseFile(f *testing.F) {
	files, err := filepath.Glob("testdata/*/*.json")
	if err != nil || len(files) == 0 {
		f.Fatal(files, err)
	}
	for _, name := range files {
		raw, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
		if file, _ := ReadCaseFile(raw, now); len(file.Entries) > 0 {
			var b bytes.Buffer
			if err := json.Compact(&b, write(f, file)); err != nil {
				f.Fatal(err)
			}
			f.Add(b.Bytes())
		}
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		file, ps := ReadCaseFile(raw, now)
		_ = ps.Error()
		for _, e := range file.Entries {
			if _, err := e.MarshalJSON(); err != nil {
				t.Fatalf("an entry that was kept cannot be written: %v", err)
			}
		}
		if ps.Err() != nil {
			return
		}
		if !json.Valid(bytes.TrimPrefix(raw, []byte("\ufeff"))) {
			t.Fatal("what is not JSON was accepted")
		}
		first := write(t, file)
		again, ps := ReadCaseFile(first, now)
		if err := ps.Err(); err != nil {
			t.Fatalf("accepted, then refused: %v\n%s", err, first)
		}
		if !reflect.DeepEqual(again, file) {
			t.Fatalf("got\n%#v\nwant\n%#v", again, file)
		}
		if second := write(t, again); !bytes.Equal(first, second) {
			t.Fatal("the second writing differs")
		}
	})
}

// FuzzReadForm: no form panics; a body that is accepted passes the checks that a file has.
func FuzzReadForm(f *testing.F) {
	for i, q := range []string{
		"name=Invented+Person&place=home&zone=Europe/Berlin&weight_kg=70,5&contacts/0/role=carer",
		"wound=A&site=heel&type=other&in_place/0/filler=foam&in_place/0/count=2",
		"answers/eschar=no&answers/malignancy=unknown",
		"stages/0/suction_mmHg=16.7 kPa&stages/1/hold_min=5&change_every_h=2 d&accepts_risks=anticoagulant",
		"by=x", "pump=P-1&canister_mL=0,3 L", "pump=P-1&cleaned=on",
		"wounds/2/wound=A&wounds/2/out/0/filler%3F=foam&wounds/2/out/0/count=2&signs=none&next_visit=2026-03-29T02:30&canister/volume_mL=20",
		"wound=A&filler=foam&count=1&outcome=count was wrong&note=recounted",
		"wound=A&method=ruler&tissue/slough_pct=100&undermining/0/from_clock=3&undermining/0/depth_cm=15 mm",
	} {
		f.Add(i, q)
	}
	f.Fuzz(func(t *testing.T, k int, query string) {
		form, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		kinds := casebook.Kinds()
		kind := kinds[((k%len(kinds))+len(kinds))%len(kinds)]
		body, ps := ReadForm(kind, form, zone(t, "Europe/Berlin"))
		_ = ps.Error()
		if ps.Err() != nil {
			return
		}
		raw, err := json.Marshal(body)
		if err != nil {
			t.Fatalf("an accepted body cannot be written: %v", err)
		}
		out := newCollector(10)
		into := casebook.NewBody(kind)
		(&decoder{out: out}).read(raw, into)
		if len(out.list) > 0 {
			t.Fatalf("accepted, then refused: %v\n%s", out.list, raw)
		}
		if got := reflect.ValueOf(into).Elem().Interface(); !reflect.DeepEqual(got, body) {
			t.Fatalf("got\n%#v\nwant\n%#v", got, body)
		}
	})
}

// FuzzOpenArchive: no bytes make the reader of archives panic, and what it takes can be read back.
// Slow: what an archive holds is unpacked and its checksums are made.
func FuzzOpenArchive(f *testing.F) {
	var b bytes.Buffer
	name := strings.Repeat("a", 64)
	file := CaseFile{Case: "x", Entries: []casebook.Entry{{ID: "01950000-0000-7000-8000-000000000001", Case: "x", Kind: casebook.KindPhotoTaken, Version: 1, Blobs: []string{name},
		Body: casebook.PhotoTaken{Wound: "A", WidthPx: 1, HeightPx: 1}}}}
	if _, err := WriteArchive(&b, file, func(string) ([]byte, error) { return []byte("photo"), nil }); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add(b.Bytes()[:40])
	f.Add([]byte("PK\x05\x06"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		a, ps := OpenArchive(bytes.NewReader(raw), int64(len(raw)), Limits{Bytes: 1 << 16, Entries: 10, Depth: 20, Values: 1000, Problems: 100})
		if ps.Err() != nil {
			return
		}
		for _, x := range a.Files {
			if content, err := a.Content(x.Name); err != nil || int64(len(content)) != x.Bytes {
				t.Fatalf("%s: %d bytes, %v", x.Name, len(content), err)
			}
		}
	})
}
