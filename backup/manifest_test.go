package backup

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
)

// FuzzReadManifest: what comes out of a backup never panics, and what is accepted agrees with itself.
func FuzzReadManifest(f *testing.F) {
	good := `{"format":"lowtide backup","version":1,"made":"2026-03-04T08:30:00Z","key":"0123456789abcdef","holder":"file","with_key":true,"store":{"head":"","records":0,"cases":0,"blobs":0,"blob_bytes":0},"files":[{"name":"store.db","bytes":1,"sha256":"x"},{"name":"store.key","bytes":1,"sha256":"x"}]}`
	f.Add([]byte(good))
	f.Add([]byte(strings.Replace(good, `"version":1`, `"version":2`, 1)))
	f.Add([]byte(strings.Replace(good, "store.db", "../../etc/passwd", 1)))
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := readManifest(text)
		if err != nil {
			if !errors.Is(err, ErrNotABackup) && !errors.Is(err, ErrNewer) {
				t.Fatal(err)
			}
			return
		}
		names := map[string]int{}
		for _, file := range m.Files {
			names[file.Name]++
			if strings.ContainsAny(file.Name, `/\`) || file.Bytes < 0 {
				t.Fatalf("%+v", file)
			}
		}
		if names[storeName] != 1 || (names[keyName] == 1) != m.WithKey || (names[accessName] == 1) != (m.Access != nil) {
			t.Fatalf("%+v", m)
		}
		again, err := json.Marshal(m)
		if err == nil {
			_, err = readManifest(again)
		}
		if err != nil {
			t.Fatal(err)
		}
	})
}

func TestNewerBackup(t *testing.T) {
	_, err := readManifest([]byte(`{"format":"lowtide backup","version":2}`))
	if !errors.Is(err, ErrNewer) || !strings.Contains(err.Error(), "or a later one") {
		t.Errorf("%v", err)
	}
}
