package web_test

import (
	"html"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"lowtide/demo"
	"lowtide/tests/aloud"
)

// demoMorning is when the browser tests' demo is told: a Tuesday, so that the days before and after have names.
var demoMorning = time.Date(2026, 3, 10, 9, 20, 0, 0, time.UTC)

var address = regexp.MustCompile(`href="(/[^"#]*)`)

// everyPage opens each page that a link leads to, once for each kind of page of each case.
func everyPage(c *client, each func(path, body string)) {
	seen := map[string]bool{}
	todo := []string{"/", "/week", "/stores", "/bag", "/pumps", "/call", "/about"}
	for len(todo) > 0 {
		path := todo[0]
		todo = todo[1:]
		u, err := url.Parse(path)
		if err != nil || seen[u.Path+"?"+keep(u.Query())] {
			continue
		}
		seen[u.Path+"?"+keep(u.Query())] = true
		w := c.get(path)
		if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			continue
		}
		body := w.Body.String()
		each(path, body)
		for _, m := range address.FindAllStringSubmatch(body, -1) {
			if to := html.UnescapeString(m[1]); !notWalked.MatchString(to) {
				todo = append(todo, to)
			}
		}
	}
}

// notWalked are addresses that the walk does not follow: files, one page for each entry of a log, and the pages whose matter is
// exact: rules with their limits, the Bench, what was counted of calls.
var notWalked = regexp.MustCompile(`^/static/|^/rules|^/sources|^/hazards|/bench|/correct/|/take/|^/call/found`)

// keep is the part of a query that makes another page.
func keep(q url.Values) string {
	for name := range q {
		if !slices.Contains([]string{"ended", "lang"}, name) {
			q.Del(name)
		}
	}
	return q.Encode()
}

// TestReadAloud: no page and no paper of the demo says what a nurse would not say. With ALOUD=FILE it writes all that they
// say, to be read.
func TestReadAloud(t *testing.T) {
	c := newClientAt(t, demoMorning)
	if err := demo.Fill(t.Context(), c.book, demoMorning, 1); err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	pages := 0
	told := map[string]bool{}
	everyPage(c, func(path, body string) {
		pages++
		all.WriteString("\n#### " + path + "\n")
		for _, line := range aloud.Lines(body) {
			all.WriteString(line + "\n")
			if wrong := aloud.Wrong(line); wrong != "" && !told[wrong] {
				told[wrong] = true
				t.Errorf("%s: %s\n\t%s", path, wrong, line)
			}
		}
	})
	if pages < 700 {
		t.Errorf("only %d pages were read", pages)
	}
	if file := os.Getenv("ALOUD"); file != "" {
		if err := os.WriteFile(file, []byte(all.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
