package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lowtide/evidence/scene"
	"lowtide/outline"
)

// outlineFiles writes a painted photo of known size with its loop, and four marks in the plane of the wound.
func outlineFiles(t *testing.T) (photo, loop, marks string, d scene.Drawn) {
	t.Helper()
	dir := t.TempDir()
	d = scene.Ordinary(31, 2, 15, 2, true)
	photo, loop, marks = filepath.Join(dir, "p.jpg"), filepath.Join(dir, "l.json"), filepath.Join(dir, "m.json")
	var known []outline.Mark
	for _, p := range []outline.Point{{X: -5, Y: -5}, {X: 5, Y: -5}, {X: 5, Y: 5}, {X: -5, Y: 5}, {X: 0, Y: -5}, {X: 0, Y: 5}} {
		known = append(known, outline.Mark{Px: d.Camera.See(p.X, p.Y, 0), Cm: p})
	}
	raw := d.Paint()
	l, _ := json.Marshal(d.Loop())
	m, _ := json.Marshal(known)
	for name, b := range map[string][]byte{photo: raw, loop: l, marks: m} {
		if err := os.WriteFile(name, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return photo, loop, marks, d
}

func runOutline(args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	code = Main(append([]string{"outline"}, args...), strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// TestOutlineCommand: by strips and by marks, the wound that was painted.
func TestOutlineCommand(t *testing.T) {
	photo, loop, marks, d := outlineFiles(t)
	want := outline.Area(d.Wound)
	for name, args := range map[string][]string{"strips": {photo, "--loop", loop, "--exact", "--json"}, "marks": {photo, "--loop", loop, "--marks", marks, "--exact", "--json"}} {
		code, out, errs := runOutline(args...)
		var got struct {
			Outline []outline.Point   `json:"outline"`
			Holes   [][]outline.Point `json:"holes"`
			Status  string            `json:"status"`
			Area    float64           `json:"area_cm2"`
			Length  float64           `json:"length_cm"`
			Width   float64           `json:"width_cm"`
			Edge    float64           `json:"perimeter_cm"`
			SE      float64           `json:"se"`
			Tilt    float64           `json:"tilt_deg"`
			PxPerCm float64           `json:"px_per_cm"`
			NoScale *outline.Refusal  `json:"no_scale"`
		}
		if err := json.Unmarshal([]byte(out), &got); code != 0 || err != nil || got.NoScale != nil {
			t.Fatalf("%s: code %d, %v, %s %s", name, code, err, out, errs)
		}
		if math.Abs(got.Area/want-1) > 0.02 || len(got.Outline) != len(d.Wound) || got.Holes == nil || got.Status == "" || got.SE <= 0 || got.PxPerCm <= 0 || got.Length < got.Width*0.9 || got.Edge <= 0 {
			t.Errorf("%s: %+v, want area %.3f", name, got, want)
		}
	}
	if code, out, _ := runOutline(photo, "--loop", loop, "--exact"); code != 0 || !strings.Contains(out, "cm²") {
		t.Errorf("code %d: %s", code, out)
	}
}

// TestOutlineCommandRefuses: every problem with its place, no panic, the right exit code.
func TestOutlineCommandRefuses(t *testing.T) {
	photo, loop, marks, _ := outlineFiles(t)
	dir := t.TempDir()
	write := func(text string) string {
		name := filepath.Join(dir, fmt.Sprint(len(text), ".json"))
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	for name, c := range map[string]struct {
		args []string
		code int
		says string
	}{
		"no loop":         {[]string{photo}, 2, "--loop"},
		"no photo":        {[]string{dir + "/none.jpg", "--loop", loop}, 2, "none.jpg"},
		"photo is json":   {[]string{loop, "--loop", loop}, 1, "not a photo"},
		"loop not json":   {[]string{photo, "--loop", photo}, 2, "not JSON"},
		"two points":      {[]string{photo, "--loop", write("[[1,2],[3,4]]")}, 2, "at least three"},
		"bad points":      {[]string{photo, "--loop", write(`[[1,2],[3,"x"],[5],7]`)}, 2, "/1/1"},
		"loop crosses":    {[]string{photo, "--loop", write("[[100,100],[300,300],[300,100],[100,300]]"), "--marks", marks, "--exact"}, 1, "crosses itself"},
		"marks an object": {[]string{photo, "--loop", loop, "--marks", write(`{"px":[1,2]}`)}, 2, "list of marks"},
		"three marks":     {[]string{photo, "--loop", loop, "--marks", write(`[{"px":[1,2],"cm":[1,2]},{"px":[1,3],"cm":[1,3]},{"px":[2,3],"cm":[2,3]}]`)}, 2, "4 to 1000"},
		"mark without cm": {[]string{photo, "--loop", loop, "--marks", write(`[{"px":[1,2]},{"px":[1,3],"cm":[1,3]},{"px":[2,3],"cm":[2,3]},{"px":[9,3],"cm":[2,3]}]`)}, 2, "/0/cm"},
		"ruler":           {[]string{photo, "--loop", loop, "--exact", "--ruler-mm", "100"}, 0, ""},
	} {
		code, out, errs := runOutline(c.args...)
		if code != c.code || !strings.Contains(errs, c.says) {
			t.Errorf("%s: code %d, want %d; says %q%s", name, code, c.code, errs, out)
		}
	}
}

// TestStripsCommand: both papers, and a third that is not known.
func TestStripsCommand(t *testing.T) {
	for paper, want := range map[string]int{"A4": 0, "letter": 0, "B5": 2} {
		var o, e bytes.Buffer
		if code := Main([]string{"strips", "--paper", paper}, strings.NewReader(""), &o, &e); code != want || want == 0 && !bytes.HasPrefix(o.Bytes(), []byte("%PDF-1.4")) {
			t.Errorf("%s: code %d, %s", paper, code, e.String())
		}
	}
}

// FuzzLoop: outside JSON gives points within bounds or problems, never a panic.
// Slow: the same bytes are read as a loop and as marks, and a plane is fitted to marks.
func FuzzLoop(f *testing.F) {
	f.Add([]byte("[[1,2],[3,4],[5,6]]"))
	f.Add([]byte(`[[1e400,2],null,{"a":1}]`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		loop, bad := parseLoop(raw)
		if len(bad) == 0 && len(loop) < leastLoop {
			t.Fatalf("%d points without a problem", len(loop))
		}
		marks, bad := parseMarks(raw)
		if len(bad) == 0 && len(marks) < leastMarks {
			t.Fatalf("%d marks without a problem", len(marks))
		}
		if len(bad) == 0 {
			_, _ = outline.PlaneFromMarks(marks, 640, 480)
		}
	})
}

// TestOutlineOneStrip: a photo with one strip gives its edge and no sizes, and names the flag; with the flag it gives
// sizes and says what one strip cannot tell. A flag that the photo contradicts is refused.
func TestOutlineOneStrip(t *testing.T) {
	both, loop, marks, d := outlineFiles(t)
	d.Strips = d.Strips[:1]
	photo := filepath.Join(t.TempDir(), "one.jpg")
	if err := os.WriteFile(photo, d.Paint(), 0o600); err != nil {
		t.Fatal(err)
	}
	type answer struct {
		Status string           `json:"status"`
		Area   float64          `json:"area_cm2"`
		SE     float64          `json:"se"`
		Scale  string           `json:"scale"`
		Cannot string           `json:"cannot_tell"`
		No     *outline.Refusal `json:"no_scale"`
	}
	ask := func(args ...string) (a answer) {
		code, out, errs := runOutline(append(args, "--loop", loop, "--exact", "--json")...)
		if err := json.Unmarshal([]byte(out), &a); code != 0 || err != nil {
			t.Fatalf("%v: code %d, %v, %s", args, code, err, errs)
		}
		return a
	}
	two := ask(both)
	if a := ask(photo); a.No == nil || a.No.Reason != outline.OneStripOnly || !strings.Contains(a.No.Remedy, "--one-strip") || a.Area != 0 {
		t.Errorf("nothing said: %+v", a)
	}
	if a := ask(photo, "--one-strip"); a.No != nil || math.Abs(a.Area/two.Area-1) > 0.03 || !(a.SE > two.SE) || a.Scale != "one strip" || a.Cannot == "" || !strings.Contains(a.Status, "slopes") {
		t.Errorf("one strip said: %+v", a)
	}
	if a := ask(both, "--one-strip"); a.No == nil || a.No.Reason != outline.StripsMany || !strings.Contains(a.No.Remedy, "--one-strip") {
		t.Errorf("two strips, said to be one: %+v", a)
	}
	if code, _, errs := runOutline(both, "--loop", loop, "--marks", marks, "--one-strip"); code != 2 || !strings.Contains(errs, "--one-strip") {
		t.Errorf("with marks: code %d, %s", code, errs)
	}
}
