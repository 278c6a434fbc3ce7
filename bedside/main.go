//go:build js && wasm

// Lowtide for the browser: the same pages, made by a browser's service worker on the phone of a nurse, where there is no
// network. The worker (web/static/worker.js) hands it requests and gets answers; see adapter.go.
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"syscall/js"
	_ "time/tzdata" // a browser gives Go no time zones
)

func main() {
	ctx := context.Background()
	p := &phone{}
	if err := p.resume(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "lowtide: the list stays shut:", err)
	}
	js.Global().Set("lowtideProgram", answering(p.handler()))
	js.Global().Set("lowtideDevice", js.FuncOf(func(_ js.Value, args []js.Value) any {
		text := js.Global().Get("JSON").Call("stringify", args[0]).String()
		return promise(func() (js.Value, error) {
			var m message
			if err := json.Unmarshal([]byte(text), &m); err != nil {
				return js.Undefined(), err
			}
			raw, err := json.Marshal(p.do(ctx, m))
			if err != nil {
				return js.Undefined(), err
			}
			return js.Global().Get("JSON").Call("parse", string(raw)), nil
		})
	}))
	js.Global().Set("lowtideFirstKey", js.FuncOf(func(js.Value, []js.Value) any {
		return promise(func() (js.Value, error) {
			if raw := p.firstKey(ctx); raw != nil {
				return arrayOf(raw), nil
			}
			return js.Null(), nil
		})
	}))
	// What Rounds needs is worked out and kept when nothing else is to be done.
	js.Global().Set("lowtideRest", js.FuncOf(func(js.Value, []js.Value) any {
		return promise(func() (js.Value, error) {
			p.mu.Lock()
			made := p.pages
			p.mu.Unlock()
			if made == nil {
				return js.Undefined(), nil
			}
			return js.Undefined(), made.rest(ctx)
		})
	}))
	js.Global().Call("lowtideReady")
	select {}
}
