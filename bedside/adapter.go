//go:build js && wasm

package main

import (
	"bytes"
	"fmt"
	"net/http"
	"syscall/js"
)

// answering makes the function that the worker calls: it takes a request as {method, url, headers, body} and gives a
// Promise of {status, headers, body}. Headers are lists of pairs, bodies are Uint8Arrays. A request that cannot be made
// into one of Go's rejects the Promise; everything else is the handler's to answer.
func answering(h http.Handler) js.Func {
	return js.FuncOf(func(_ js.Value, args []js.Value) any {
		return promise(func() (js.Value, error) {
			r, err := requestOf(args[0])
			if err != nil {
				return js.Undefined(), err
			}
			w := &answer{header: http.Header{}}
			h.ServeHTTP(w, r)
			return w.value(), nil
		})
	})
}

// promise runs work in a goroutine of its own: the worker's thread goes on meanwhile.
func promise(work func() (js.Value, error)) js.Value {
	var run js.Func
	run = js.FuncOf(func(_ js.Value, args []js.Value) any {
		run.Release()
		resolve, reject := args[0], args[1]
		go func() {
			defer func() {
				if p := recover(); p != nil {
					reject.Invoke(js.Global().Get("Error").New(fmt.Sprint("the program failed: ", p)))
				}
			}()
			v, err := work()
			if err != nil {
				reject.Invoke(js.Global().Get("Error").New(err.Error()))
				return
			}
			resolve.Invoke(v)
		}()
		return nil
	})
	return js.Global().Get("Promise").New(run)
}

// requestOf makes Go's request of the worker's.
func requestOf(v js.Value) (*http.Request, error) {
	body := bytesOf(v.Get("body"))
	r, err := http.NewRequest(v.Get("method").String(), v.Get("url").String(), bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	headers := v.Get("headers")
	for i := range headers.Length() {
		r.Header.Add(headers.Index(i).Index(0).String(), headers.Index(i).Index(1).String())
	}
	// As a server sees it: the path alone, and the host beside it.
	r.RequestURI = r.URL.RequestURI()
	r.URL.Scheme, r.URL.Host = "", ""
	r.RemoteAddr = "127.0.0.1:0"
	return r, nil
}

func bytesOf(v js.Value) []byte {
	if v.IsUndefined() || v.IsNull() {
		return nil
	}
	b := make([]byte, v.Length())
	js.CopyBytesToGo(b, v)
	return b
}

// answer keeps what a handler writes.
type answer struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (a *answer) Header() http.Header { return a.header }

func (a *answer) WriteHeader(status int) {
	if a.status == 0 {
		a.status = status
	}
}

func (a *answer) Write(p []byte) (int, error) {
	a.WriteHeader(http.StatusOK)
	return a.body.Write(p)
}

func (a *answer) value() js.Value {
	a.WriteHeader(http.StatusOK)
	pairs := js.Global().Get("Array").New()
	for name, values := range a.header {
		for _, value := range values {
			pair := js.Global().Get("Array").New()
			pair.Call("push", name, value)
			pairs.Call("push", pair)
		}
	}
	body := js.Global().Get("Uint8Array").New(a.body.Len())
	js.CopyBytesToJS(body, a.body.Bytes())
	out := js.Global().Get("Object").New()
	out.Set("status", a.status)
	out.Set("headers", pairs)
	out.Set("body", body)
	return out
}
