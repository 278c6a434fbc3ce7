package web_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"image/png"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"lowtide/web"
)

// built is a program for browsers that is none, so that these tests need no build.
func built(t *testing.T) web.Program {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if _, err := z.Write([]byte("\x00asm not really")); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return web.Program{Wasm: b.Bytes(), Loader: []byte("loader"), Mark: "m1"}
}

// TestWorkerScript: the script says which build it belongs to, every route that it answers is one of the table, nothing of a
// door or of an account is among them, and pages may start no program.
func TestWorkerScript(t *testing.T) {
	wd := staffed(t)
	if w := wd.get("/worker.js"); w.Code != http.StatusNotFound {
		t.Errorf("without a program: %d", w.Code)
	}
	p := built(t)
	wd.srv.Program = func(context.Context) (web.Program, error) { return p, nil }
	w := wd.get("/worker.js")
	first, rest, _ := strings.Cut(w.Body.String(), "\n")
	var b struct {
		Mark, Wasm, Loader      string
		Files, Get, Post, Leave []string
	}
	if err := json.Unmarshal([]byte(strings.TrimSuffix(strings.TrimPrefix(first, "self.lowtideBuild = "), ";")), &b); err != nil {
		t.Fatalf("%v in %q", err, first)
	}
	if policy := w.Header().Get("Content-Security-Policy"); !strings.Contains(policy, "'wasm-unsafe-eval'") || !strings.Contains(rest, "'use strict'") {
		t.Errorf("policy %q, script of %d bytes", policy, len(rest))
	}
	if policy := wd.get("/sign-in").Header().Get("Content-Security-Policy"); strings.Contains(policy, "wasm") {
		t.Errorf("a page may start programs: %q", policy)
	}
	for _, f := range append(slices.Clone(b.Files), b.Loader, b.Wasm) {
		if w := wd.get(f); w.Code != http.StatusOK {
			t.Errorf("%s: %d", f, w.Code)
		}
	}
	match := func(list []string, path string) bool {
		return slices.ContainsFunc(list, func(p string) bool { return regexp.MustCompile(p).MatchString(path) })
	}
	for path, want := range map[string]bool{"/": true, "/case/x/visit": true, "/case/x": true, "/rules": true, "/sign-in": false, "/me": false, "/accounts": false, "/stores": false, "/case/x/erase": false, "/open": false} {
		if match(b.Get, path) != want {
			t.Errorf("GET %s at the bedside: %v", path, !want)
		}
	}
	for path, want := range map[string]bool{"/case/x/visit": true, "/case/x/add/canister.read": true, "/sign-in": false, "/week/off": false, "/case/x/erase": false, "/leave": false} {
		if match(b.Post, path) != want {
			t.Errorf("POST %s at the bedside: %v", path, !want)
		}
	}
	if len(b.Get)+len(b.Post) != web.AtBedside() {
		t.Errorf("%d patterns of %d routes: one of the list is no route", len(b.Get)+len(b.Post), web.AtBedside())
	}
	// Another build has another script, by which a browser sees that there is a new one.
	p.Mark = "m2"
	if again := wd.get("/worker.js").Body.String(); again == w.Body.String() {
		t.Error("another program, and the script is the same")
	}
}

// TestProgramFile: the program comes packed to those who take it and plain to the others, under the name of its build only.
func TestProgramFile(t *testing.T) {
	wd := staffed(t)
	p := built(t)
	wd.srv.Program = func(context.Context) (web.Program, error) { return p, nil }
	r := httptest.NewRequest("GET", "http://127.0.0.1/program/m1/lowtide.wasm", nil)
	r.Header.Set("Accept-Encoding", "gzip")
	w := wd.do(r)
	if w.Header().Get("Content-Encoding") != "gzip" || !bytes.Equal(w.Body.Bytes(), p.Wasm) || w.Header().Get("Content-Type") != "application/wasm" {
		t.Errorf("packed: %v", w.Header())
	}
	if w := wd.get("/program/m1/lowtide.wasm"); w.Header().Get("Content-Encoding") != "" || !strings.HasPrefix(w.Body.String(), "\x00asm") {
		t.Errorf("plain: %v", w.Header())
	}
	for _, path := range []string{"/program/m0/lowtide.wasm", "/program/m1/other"} {
		if w := wd.get(path); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	wd.srv.Program = func(context.Context) (web.Program, error) { return web.Program{}, errors.New("no compiler here") }
	if w := wd.get("/worker.js"); w.Code != http.StatusNotFound {
		t.Errorf("not built: %d", w.Code)
	}
}

// TestManifest: what a device is told that installs Lowtide, with icons of the sizes that it promises.
func TestManifest(t *testing.T) {
	wd := staffed(t)
	var m struct {
		StartURL string `json:"start_url"`
		Display  string
		Icons    []struct{ Src, Sizes string }
	}
	if err := json.Unmarshal(wd.get("/manifest.webmanifest").Body.Bytes(), &m); err != nil || m.StartURL != "/" || m.Display != "standalone" || len(m.Icons) != 3 {
		t.Fatalf("%+v, %v", m, err)
	}
	for _, icon := range m.Icons {
		img, err := png.Decode(wd.get(icon.Src).Body)
		if err != nil {
			t.Fatalf("%s: %v", icon.Src, err)
		}
		b := img.Bounds()
		// The ground at the corner, the waterline in the middle of its height.
		_, g0, _, _ := img.At(0, 0).RGBA()
		_, g1, _, _ := img.At(b.Dx()/2, b.Dy()*12/32).RGBA()
		if size, _, _ := strings.Cut(icon.Sizes, "x"); icon.Src != "/icon/"+size+".png" || b.Dx() != b.Dy() || g0 > 0x4000 || g1 < 0xe000 {
			t.Errorf("%s: %v, %x, %x", icon.Src, b, g0, g1)
		}
	}
	if w := wd.get("/icon/7.png"); w.Code != http.StatusNotFound {
		t.Errorf("another size: %d", w.Code)
	}
}

// TestAboard: pages that a device makes say since when they know nothing, loudly when it is long ago; what needs others
// says that it needs the network and gives back what was typed; and no page of a device says whose it is.
func TestAboard(t *testing.T) {
	c := newClient(t)
	patients(c)
	about := web.Aboard{Since: noon.Add(-48 * time.Minute), Unsent: 3}
	c.srv.Aboard = func() web.Aboard { return about }
	body := c.get("/").Body.String()
	if !strings.Contains(body, "On this phone since 11:12, 3 entries to send") || strings.Contains(body, "Nothing has come from the server") {
		t.Errorf("48 minutes: %s", body)
	}
	about = web.Aboard{Since: noon.Add(-25 * time.Hour), Unsent: 1, Refused: 1}
	body = c.get("/case/" + oneCase).Body.String()
	for _, words := range []string{"1 entry to send, 1 that the server did not take", "Nothing has come from the server since Monday"} {
		if !strings.Contains(body, words) {
			t.Errorf("a day: no %q", words)
		}
	}
	about = web.Aboard{}
	if body := c.get("/rules").Body.String(); !strings.Contains(body, "has never heard from the server") {
		t.Error("never: no word of it")
	}
	for _, path := range []string{"/stores", "/pumps", "/week", "/others", "/case/new"} {
		w := c.get(path)
		if w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "This page needs the network.") {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	w := c.post("/stores/counted", url.Values{"item": {"foam kit"}})
	if w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "can be saved only with the network") || !strings.Contains(w.Body.String(), "foam kit") {
		t.Errorf("a form: %d", w.Code)
	}
	if w := c.get("/"); w.Header().Get("Lowtide-Person") != "" {
		t.Error("a device's page says whose it is")
	}
	c.srv.Aboard = nil
	if w := c.get("/"); w.Header().Get("Lowtide-Person") == "" {
		t.Error("a server's page does not say whose it is")
	}
}
