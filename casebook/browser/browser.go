//go:build js && wasm

// Package browser keeps records, keys, photos and notes in a browser's own storage (IndexedDB): it is the medium behind a
// [memory.Store], which writes every change through to it before it holds it. What is written here is sealed already.
package browser

import (
	"errors"
	"fmt"
	"strings"
	"syscall/js"

	"lowtide/casebook"
	"lowtide/casebook/memory"
)

// version of the layout below.
const version = 1

// The object stores of a database. Links are kept by their place, keys by their case, blobs by their hash, notes by their
// name, and the one meta under "meta".
const (
	links = "links"
	keys  = "keys"
	meta  = "meta"
	blobs = "blobs"
	notes = "notes"
)

var all = []any{links, keys, meta, blobs, notes}

// small notes are read when a store is opened; larger ones when they are asked for.
const smallNote = 16 << 10

type medium struct {
	base js.Value
	// gone says that the browser closed the database by itself, such as when a person cleared it.
	gone *bool
}

// Open returns what the database of this name holds, and the medium that keeps more there. A database that is not there is
// made. Errors wrap [casebook.ErrFull] where the browser gives no room.
func Open(name string) (memory.Contents, memory.Keeper, error) {
	var none memory.Contents
	r := js.Global().Get("indexedDB").Call("open", name, version)
	upgrade := js.FuncOf(func(js.Value, []js.Value) any {
		base := r.Get("result")
		for _, store := range all {
			base.Call("createObjectStore", store)
		}
		return nil
	})
	defer upgrade.Release()
	r.Set("onupgradeneeded", upgrade)
	base, err := wait(r)
	if err != nil {
		return none, nil, fmt.Errorf("browser: open %s: %w", name, err)
	}
	m := &medium{base, new(bool)}
	base.Set("onclose", js.FuncOf(func(js.Value, []js.Value) any { *m.gone = true; return nil }))
	base.Set("onversionchange", js.FuncOf(func(js.Value, []js.Value) any { base.Call("close"); *m.gone = true; return nil }))
	held, err := m.read()
	if err != nil {
		base.Call("close")
		return none, nil, fmt.Errorf("browser: read %s: %w", name, err)
	}
	return held, m, nil
}

// Remove deletes the database of this name.
func Remove(name string) error {
	if _, err := wait(js.Global().Get("indexedDB").Call("deleteDatabase", name)); err != nil {
		return fmt.Errorf("browser: remove %s: %w", name, err)
	}
	return nil
}

// Names lists the databases whose names start with prefix.
func Names(prefix string) ([]string, error) {
	list, err := await(js.Global().Get("indexedDB").Call("databases"))
	if err != nil {
		return nil, err
	}
	var out []string
	for i := range list.Length() {
		if name := list.Index(i).Get("name").String(); strings.HasPrefix(name, prefix) {
			out = append(out, name)
		}
	}
	return out, nil
}

// read reads everything but photos and large notes.
func (m *medium) read() (c memory.Contents, err error) {
	c.Notes = map[string][]byte{}
	t := m.base.Call("transaction", js.ValueOf(all), "readonly")
	get := func(store, what string) js.Value { return t.Call("objectStore", store).Call(what) }
	// All requests stand before the first wait: a transaction ends when nothing is asked of it.
	asked := []js.Value{get(links, "getAll"), get(keys, "getAll"), get(meta, "getAll"), get(blobs, "getAllKeys"), get(notes, "getAllKeys"), get(notes, "getAll")}
	if err := done(t); err != nil {
		return c, err
	}
	each := func(i int, do func(js.Value)) {
		list := asked[i].Get("result")
		for n := range list.Length() {
			do(list.Index(n))
		}
	}
	each(0, func(v js.Value) {
		c.Links = append(c.Links, casebook.Link{Record: casebook.Record{ID: v.Get("id").String(), Case: v.Get("case").String(), Bytes: bytesOf(v.Get("bytes"))},
			Seq: int64(v.Get("seq").Float()), Hash: v.Get("hash").String(), MAC: bytesOf(v.Get("mac"))})
	})
	each(1, func(v js.Value) {
		c.Keys = append(c.Keys, casebook.CaseKey{Case: v.Get("case").String(), Wrapped: bytesOf(v.Get("wrapped")), ErasedBy: v.Get("erased").String()})
	})
	each(2, func(v js.Value) {
		c.Meta = casebook.KeyMeta{ID: v.Get("id").String(), Kind: v.Get("kind").String(), Salt: bytesOf(v.Get("salt")),
			Passes: uint32(v.Get("passes").Float()), MemoryKiB: uint32(v.Get("memory").Float()), Lanes: uint8(v.Get("lanes").Float())}
	})
	each(3, func(v js.Value) { c.Blobs = append(c.Blobs, v.String()) })
	bodies := asked[5].Get("result")
	n := 0
	each(4, func(v js.Value) {
		body := bodies.Index(n)
		n++
		if body.Length() >= smallNote {
			c.Notes[v.String()] = nil
			return
		}
		c.Notes[v.String()] = bytesOf(body)
	})
	return c, nil
}

// Keep implements [memory.Keeper].
func (m *medium) Keep(c memory.Change) (err error) {
	if *m.gone {
		return fmt.Errorf("browser: the browser closed its storage: %w", casebook.ErrReadOnly)
	}
	defer func() {
		// What a call of the browser throws comes as a panic.
		if p := recover(); p != nil {
			if thrown, ok := p.(js.Error); ok {
				err = wrong(thrown.Value)
				return
			}
			panic(p)
		}
	}()
	t := m.base.Call("transaction", js.ValueOf(all), "readwrite", map[string]any{"durability": "strict"})
	in := func(store string) js.Value { return t.Call("objectStore", store) }
	if c.Anew {
		in(links).Call("clear")
	}
	for _, l := range c.Links {
		in(links).Call("put", map[string]any{"id": l.ID, "case": l.Case, "bytes": arrayOf(l.Bytes), "seq": float64(l.Seq), "hash": l.Hash, "mac": arrayOf(l.MAC)}, float64(l.Seq))
	}
	for _, id := range c.Gone {
		in(keys).Call("delete", id)
	}
	for _, k := range c.Keys {
		in(keys).Call("put", map[string]any{"case": k.Case, "wrapped": arrayOf(k.Wrapped), "erased": k.ErasedBy}, k.Case)
	}
	if c.Meta != nil {
		in(meta).Call("put", map[string]any{"id": c.Meta.ID, "kind": c.Meta.Kind, "salt": arrayOf(c.Meta.Salt), "passes": float64(c.Meta.Passes), "memory": float64(c.Meta.MemoryKiB), "lanes": float64(c.Meta.Lanes)}, "meta")
	}
	for _, hash := range c.GoneBlobs {
		in(blobs).Call("delete", hash)
	}
	for hash, content := range c.Blobs {
		in(blobs).Call("put", arrayOf(content), hash)
	}
	for name, content := range c.Notes {
		if len(content) == 0 {
			in(notes).Call("delete", name)
		} else {
			in(notes).Call("put", arrayOf(content), name)
		}
	}
	return done(t)
}

// Blob implements [memory.Keeper].
func (m *medium) Blob(hash string) ([]byte, error) { return m.get(blobs, hash) }

// Note implements [memory.Keeper].
func (m *medium) Note(name string) ([]byte, error) { return m.get(notes, name) }

func (m *medium) get(store, key string) ([]byte, error) {
	if *m.gone {
		return nil, fmt.Errorf("browser: the browser closed its storage: %w", casebook.ErrReadOnly)
	}
	v, err := wait(m.base.Call("transaction", store, "readonly").Call("objectStore", store).Call("get", key))
	if err != nil {
		return nil, err
	}
	if v.IsUndefined() {
		return nil, fmt.Errorf("browser: %s %q: %w", store, key, casebook.ErrNotFound)
	}
	return bytesOf(v), nil
}

// Close implements [memory.Keeper].
func (m *medium) Close() error {
	m.base.Call("close")
	*m.gone = true
	return nil
}

// wait waits for a request.
func wait(request js.Value) (js.Value, error) {
	end := make(chan error, 1)
	good := js.FuncOf(func(js.Value, []js.Value) any { end <- nil; return nil })
	bad := js.FuncOf(func(js.Value, []js.Value) any { end <- wrong(request.Get("error")); return nil })
	defer good.Release()
	defer bad.Release()
	request.Set("onsuccess", good)
	request.Set("onerror", bad)
	if err := <-end; err != nil {
		return js.Undefined(), err
	}
	return request.Get("result"), nil
}

// done waits until a transaction is on the medium.
func done(t js.Value) error {
	end := make(chan error, 1)
	good := js.FuncOf(func(js.Value, []js.Value) any { end <- nil; return nil })
	bad := js.FuncOf(func(js.Value, []js.Value) any { end <- wrong(t.Get("error")); return nil })
	defer good.Release()
	defer bad.Release()
	t.Set("oncomplete", good)
	t.Set("onabort", bad)
	return <-end
}

// await waits for a promise.
func await(promise js.Value) (js.Value, error) {
	type outcome struct {
		v   js.Value
		err error
	}
	end := make(chan outcome, 1)
	good := js.FuncOf(func(_ js.Value, args []js.Value) any { end <- outcome{v: args[0]}; return nil })
	bad := js.FuncOf(func(_ js.Value, args []js.Value) any { end <- outcome{err: wrong(args[0])}; return nil })
	defer good.Release()
	defer bad.Release()
	promise.Call("then", good, bad)
	o := <-end
	return o.v, o.err
}

// wrong makes Go's error of the browser's.
func wrong(e js.Value) error {
	if e.IsNull() || e.IsUndefined() {
		return errors.New("browser: the storage gave up without a reason")
	}
	if e.Get("name").String() == "QuotaExceededError" {
		return fmt.Errorf("browser: %w", casebook.ErrFull)
	}
	return fmt.Errorf("browser: %s: %s", e.Get("name").String(), e.Get("message").String())
}

func bytesOf(v js.Value) []byte {
	if v.IsNull() || v.IsUndefined() {
		return nil
	}
	b := make([]byte, v.Length())
	js.CopyBytesToGo(b, v)
	return b
}

// arrayOf is null for nil, so that what has no bytes keeps none.
func arrayOf(b []byte) js.Value {
	if b == nil {
		return js.Null()
	}
	a := js.Global().Get("Uint8Array").New(len(b))
	js.CopyBytesToJS(a, b)
	return a
}
