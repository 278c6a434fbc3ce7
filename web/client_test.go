package web_test

import (
	"context"
	"encoding/xml"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/web"
)

// builtin reads the rules once: they are not modified.
var builtin = sync.OnceValues(rule.Builtin)

// client is a browser without script in front of a server over a memory store.
type client struct {
	t      testing.TB
	srv    *web.Server
	h      http.Handler
	book   casebook.Book
	cookie *http.Cookie
	now    time.Time
	n      int
}

var noon = time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)

const oneCase, otherCase = "019cd000-0000-7000-8000-00000000000a", "019cd000-0000-7000-8000-00000000000b"

func newClient(t testing.TB) *client { return newClientAt(t, noon) }

// newClientAt is a client whose clock stands at a time.
func newClientAt(t testing.TB, now time.Time) *client {
	t.Helper()
	rules, err := builtin()
	if err != nil {
		t.Fatal(err)
	}
	c := &client{t: t, book: casebook.Book{Store: memory.New()}, now: now}
	eq := equipment.BuiltIn()
	c.srv = &web.Server{Caseload: caseload.New(c.book, rules, eq), Rules: rules, Equipment: eq, Now: func() time.Time { return c.now },
		Random: rand.NewChaCha8([32]byte{1}), Author: "N. Test", Zone: time.UTC}
	c.h = c.srv.Handler()
	link, err := c.srv.NewLink()
	if err != nil {
		t.Fatal(err)
	}
	res := c.do(httptest.NewRequest("GET", "http://127.0.0.1"+link, nil))
	c.cookie = res.Result().Cookies()[0]
	return c
}

func (c *client) do(r *http.Request) *httptest.ResponseRecorder {
	if c.cookie != nil {
		r.AddCookie(c.cookie)
	}
	w := httptest.NewRecorder()
	c.h.ServeHTTP(w, r)
	return w
}

func (c *client) get(path string) *httptest.ResponseRecorder {
	return c.do(httptest.NewRequest("GET", "http://127.0.0.1"+path, nil))
}

func (c *client) post(path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "http://127.0.0.1"+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return c.do(r)
}

// add writes entries as they were before the test.
func (c *client) add(id string, ago time.Duration, bodies ...casebook.Body) []string {
	c.t.Helper()
	var ids []string
	for _, b := range bodies {
		c.n++
		at := noon.Add(-ago).Add(time.Duration(c.n) * time.Second)
		eid, _ := casebook.NewID(at, rand.NewChaCha8([32]byte{byte(c.n), 7}))
		e := casebook.Entry{ID: eid, Case: id, Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: at, Recorded: at, Author: "N. Test", Body: b}
		_, head, err := c.book.Entries(context.Background(), id)
		if err == nil {
			_, err = c.book.Append(context.Background(), head, e)
		}
		if err != nil {
			c.t.Fatal(err)
		}
		ids = append(ids, eid)
	}
	return ids
}

func (c *client) entries(id string) []casebook.Entry {
	c.t.Helper()
	list, _, err := c.book.Entries(context.Background(), id)
	if err != nil {
		c.t.Fatal(err)
	}
	return list
}

func (c *client) fold(id string) *casebook.Case { return casebook.Fold(id, c.entries(id)) }

func p[T any](v T) *T { return &v }

const day = 24 * time.Hour

// patients starts two cases: one in mid-therapy with two wounds, and another that entries can move to.
func patients(c *client) {
	answers := map[string]string{}
	for _, q := range casebook.Questions {
		answers[q.ID] = "no"
	}
	answers["cord_injury"], answers["anticoagulant"] = "yes", "yes"
	c.add(oneCase, 10*day, casebook.PersonRegistered{Name: "Ann Case", Place: "home", Zone: "Europe/London", Nurse: "N. Test"},
		casebook.WoundFound{Wound: "A", Site: "left heel", Type: "pressure", Stage: "4"},
		casebook.WoundFound{Wound: "B", Site: "sacrum", Type: "pressure", Stage: "3"},
		casebook.ScreeningDone{Answers: answers},
		casebook.OrderWritten{Prescriber: "Dr One", Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: 125}}, Filler: "foam", ContactLayer: "none", ChangeEveryH: p(48.0), Goal: "close", DurationDays: p(40.0), AcceptsRisks: []string{"anticoagulant", "cord_injury"}},
		casebook.PumpAssigned{Pump: "P-1", Class: "portable", CanisterML: p(300.0), Wounds: []string{"A"}})
	c.add(oneCase, 4*day, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", NoneOut: true, In: []casebook.Pieces{{Filler: "foam", Count: 2}}}}, Seal: "holds", SuctionMmHg: p(125.0), Seen: casebook.Seen{Signs: []string{"pus"}}},
		casebook.WoundMeasured{Wound: "A", LengthCm: p(6.0), WidthCm: p(4.0), DepthCm: p(2.0), Method: "ruler", Convention: "head to toe"})
	c.add(otherCase, 9*day, casebook.PersonRegistered{Name: "Bea Other", Record: "R-2", Place: "ward", Zone: "Europe/London"},
		casebook.WoundFound{Wound: "A", Site: "shin", Type: "venous"})
}

// control is a form's control as a browser sees it.
type control struct {
	typ, id string
	values  []string // what can be chosen, for radios, ticks and lists
}

// htmlForm is the POST form of a page.
type htmlForm struct {
	action   string
	values   url.Values // what would be sent if nothing were typed
	controls map[string]*control
}

// parse reads the page's form as a browser would. It fails the test when the page is not well formed.
func (c *client) parse(body string) htmlForm {
	c.t.Helper()
	f := htmlForm{values: url.Values{}, controls: map[string]*control{}}
	d := xml.NewDecoder(strings.NewReader(body))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	in, area, sel := false, "", ""
	first, chosen := "", false
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return f
		}
		if err != nil {
			c.t.Fatalf("page does not parse: %v", err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
			}
			if e.Name.Local == "form" {
				in = at["method"] == "post" && at["action"] != "/leave"
				if in {
					f.action = at["action"]
				}
			}
			if !in {
				continue
			}
			name := at["name"]
			_, has := at["checked"]
			switch e.Name.Local {
			case "input":
				k := f.control(name, at)
				if at["type"] == "radio" || at["type"] == "checkbox" {
					k.values = append(k.values, at["value"])
					if has {
						f.values.Add(name, at["value"])
					}
				} else {
					f.values.Add(name, at["value"])
				}
			case "textarea":
				f.control(name, at)
				area = name
				f.values[name] = []string{""}
			case "select":
				f.control(name, at)
				sel, first, chosen = name, "", false
			case "option":
				if sel == "" {
					continue
				}
				k := f.controls[sel]
				if len(k.values) == 0 {
					first = at["value"]
				}
				k.values = append(k.values, at["value"])
				if _, ok := at["selected"]; ok {
					f.values.Set(sel, at["value"])
					chosen = true
				}
			}
		case xml.CharData:
			if area != "" {
				f.values[area][0] += string(e)
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "form":
				in = false
			case "textarea":
				area = ""
			case "select":
				if sel != "" && !chosen {
					f.values.Set(sel, first)
				}
				sel = ""
			}
		}
	}
}

func (f htmlForm) control(name string, at map[string]string) *control {
	if f.controls[name] == nil {
		f.controls[name] = &control{typ: at["type"], id: at["id"]}
	}
	return f.controls[name]
}

// open gets a page's form.
func (c *client) open(path string) htmlForm {
	c.t.Helper()
	w := c.get(path)
	if w.Code != http.StatusOK {
		c.t.Fatalf("GET %s: %d", path, w.Code)
	}
	return c.parse(w.Body.String())
}

var rowName = regexp.MustCompile(`^(.*)/(\d+)/[^/]+$`)

// fill types values into a form, adding rows as a person without script would. Every name must be on the page, and
// every chosen word must be offered.
func (c *client) fill(f htmlForm, with url.Values) htmlForm {
	c.t.Helper()
	names := make([]string, 0, len(with))
	for name := range with {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		at := name
		for try := 0; f.controls[at] == nil && try < 5; try++ {
			if f.controls[name+"?"] != nil {
				at = name + "?"
				break
			}
			m := rowName.FindStringSubmatch(name)
			if m == nil {
				break
			}
			f.values.Set("-more", m[1])
			w := c.post(f.action, f.values)
			if w.Code != http.StatusOK {
				c.t.Fatalf("one more of %s: %d", m[1], w.Code)
			}
			f = c.parse(w.Body.String())
		}
		k := f.controls[at]
		if k == nil {
			c.t.Fatalf("%s has no field %q", f.action, name)
		}
		for _, v := range with[name] {
			if len(k.values) > 0 && !slices.Contains(k.values, v) {
				c.t.Errorf("%s: %q does not offer %q but %q", f.action, name, v, k.values)
			}
		}
		f.values[at] = with[name]
	}
	return f
}

// send posts a form and wants it written.
func (c *client) send(f htmlForm) string {
	c.t.Helper()
	w := c.post(f.action, f.values)
	if w.Code != http.StatusSeeOther {
		c.t.Fatalf("POST %s: %d\n%s", f.action, w.Code, said(w.Body.String()))
	}
	return w.Header().Get("Location")
}

var tags = regexp.MustCompile(`<[^>]*>`)

// said is the list of problems, or the heading, of a page in plain text.
func said(body string) string {
	if i := strings.Index(body, `class="problems"`); i >= 0 {
		body = body[i:]
		body = body[:strings.Index(body, "</section>")]
	} else if i := strings.Index(body, "<h1>"); i >= 0 {
		body = body[i:min(len(body), i+400)]
	}
	return strings.Join(strings.Fields(tags.ReplaceAllString(body, " ")), " ")
}
