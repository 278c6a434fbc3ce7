//go:build js && wasm

package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"syscall/js"
)

var errNoLine = errors.New("the server does not answer")

// proveFirst is what a nurse has to do before the server takes a new phone.
const proveFirst = said("Prove once more that it is you, then set this phone up.")

// signInFirst is what the server says when it knows nobody here.
const signInFirst = said("Sign in at the server, so that it takes what you wrote.")

// line asks the server over HTTPS, in the name of whoever is signed in in this browser.
type line struct {
	// person is whose answer the last one was, by the account's ID.
	person string
}

// patience is how long an answer may take, in milliseconds: a step is small, and a cut line is tried again.
const patience = 40_000

// Ask implements [meeting.Line].
func (l *line) Ask(ctx context.Context, path string, in, out any) error {
	body, err := json.Marshal(in)
	if err != nil {
		return err
	}
	answer, err := await(js.Global().Call("fetch", path, map[string]any{
		"method": "POST", "credentials": "same-origin", "cache": "no-store", "redirect": "error", "headers": map[string]any{"Content-Type": "application/json"},
		"body": string(body), "signal": js.Global().Get("AbortSignal").Call("timeout", patience),
	}))
	if err != nil {
		return fmt.Errorf("%w: %w", errNoLine, err)
	}
	switch status := answer.Get("status").Int(); status {
	case 200:
	case 401:
		return signInFirst
	case 403:
		return proveFirst
	case 502, 503, 504:
		return fmt.Errorf("%w: %d", errNoLine, status)
	default:
		return said(fmt.Sprintf("The server did not take this (%d). It stays on this phone.", status))
	}
	text, err := await(answer.Call("text"))
	if err != nil {
		return fmt.Errorf("%w: %w", errNoLine, err)
	}
	if who := answer.Get("headers").Call("get", "Lowtide-Person"); !who.IsNull() {
		l.person = who.String()
	}
	if err := json.Unmarshal([]byte(text.String()), out); err != nil {
		return fmt.Errorf("the server's answer to %s cannot be read: %w", path, err)
	}
	return nil
}

// await waits for a Promise.
func await(promise js.Value) (js.Value, error) {
	type outcome struct {
		v   js.Value
		err error
	}
	end := make(chan outcome, 1)
	good := js.FuncOf(func(_ js.Value, args []js.Value) any { end <- outcome{v: args[0]}; return nil })
	bad := js.FuncOf(func(_ js.Value, args []js.Value) any {
		end <- outcome{err: errors.New(args[0].Call("toString").String())}
		return nil
	})
	defer good.Release()
	defer bad.Release()
	promise.Call("then", good, bad)
	o := <-end
	return o.v, o.err
}

func jsGlobal(name string) js.Value { return js.Global().Get(name) }

func arrayOf(b []byte) js.Value {
	a := js.Global().Get("Uint8Array").New(len(b))
	js.CopyBytesToJS(a, b)
	return a
}
