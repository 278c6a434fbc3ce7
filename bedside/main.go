//go:build js && wasm

// Lowtide for the browser: the same pages, made by a browser's service worker on the phone of a nurse, where there is no
// network. The worker hands it requests and gets answers; see adapter.go.
package main

import (
	"crypto/rand"
	"fmt"
	"net/http"
	"syscall/js"
	"time"
	_ "time/tzdata" // a browser gives Go no time zones

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/web"
)

func main() {
	rules, err := rule.Builtin()
	if err != nil {
		panic(err)
	}
	eq := equipment.BuiltIn()
	srv := &web.Server{Caseload: caseload.New(casebook.Book{Store: memory.New()}, rules, eq), Rules: rules, Equipment: eq, Now: time.Now, Random: rand.Reader, Zone: time.Local, Author: "m.holt"}
	began := time.Now()
	srv.Aboard = func() web.Aboard { return web.Aboard{Since: began} }
	h, err := signedIn(srv)
	if err != nil {
		panic(err)
	}
	js.Global().Set("lowtideProgram", answering(h))
	js.Global().Set("lowtideDevice", js.FuncOf(func(_ js.Value, args []js.Value) any {
		return promise(func() (js.Value, error) {
			o := js.Global().Get("Object").New()
			o.Set("state", "none")
			return o, nil
		})
	}))
	js.Global().Set("lowtideFirstKey", js.FuncOf(func(js.Value, []js.Value) any {
		return js.Global().Get("Uint8Array").New(32)
	}))
	js.Global().Call("lowtideReady")
	select {}
}

// signedIn is the server's handler for the one person whose list this is: each request comes with her session.
func signedIn(srv *web.Server) (http.Handler, error) {
	h := srv.Handler()
	link, err := srv.NewLink()
	if err != nil {
		return nil, err
	}
	r, err := http.NewRequest(http.MethodGet, link, nil)
	if err != nil {
		return nil, err
	}
	r.Host = "localhost"
	w := &answer{header: http.Header{}}
	h.ServeHTTP(w, r)
	cookies := (&http.Response{Header: w.header}).Cookies()
	if len(cookies) == 0 {
		return nil, fmt.Errorf("the program does not let its own person in: %d %s", w.status, w.body.String())
	}
	cookie := cookies[0]
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Host = "localhost"
		r.AddCookie(&http.Cookie{Name: cookie.Name, Value: cookie.Value})
		h.ServeHTTP(w, r)
	}), nil
}
