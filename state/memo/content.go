package memo

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"
)

// Content is the SHA-256 over a value and everything in it, by its type: every field takes part, also those that are not
// exported, so that none can be forgotten. A time counts by its instant and its zone, a zone by its name, a float
// by its bits; nil and empty differ; the order of a map does not count. It panics on what has no content: functions,
// channels, interfaces that hold something, and times in fields that are not exported.
func Content(v any) (key Key) {
	w := writer{h: sha256.New()}
	x := reflect.ValueOf(v)
	if !x.IsValid() {
		panic("memo: nil has no content")
	}
	planOf(x.Type())(&w, x)
	w.flush()
	w.h.Sum(key[:0])
	return key
}

// writer gathers bytes for the hash.
type writer struct {
	h   hash.Hash
	buf []byte
}

func (w *writer) flush() { w.h.Write(w.buf); w.buf = w.buf[:0] }

func (w *writer) num(n uint64) {
	if len(w.buf) > 4096 {
		w.flush()
	}
	w.buf = binary.LittleEndian.AppendUint64(w.buf, n)
}

func (w *writer) text(s string) {
	w.num(uint64(len(s)))
	w.buf = append(w.buf, s...)
}

// plan writes a value of one type.
type plan func(*writer, reflect.Value)

var (
	plans    sync.Map // reflect.Type -> plan
	timeType = reflect.TypeFor[time.Time]()
	zoneType = reflect.TypeFor[*time.Location]()
)

func planOf(t reflect.Type) plan {
	if p, ok := plans.Load(t); ok {
		return p.(plan)
	}
	// A type that holds itself finds the plan that is being made.
	var once sync.Once
	var made plan
	plans.Store(t, plan(func(w *writer, v reflect.Value) {
		once.Do(func() { made = makePlan(t) })
		made(w, v)
	}))
	p := makePlan(t)
	plans.Store(t, p)
	return p
}

func makePlan(t reflect.Type) plan {
	switch {
	case t == timeType:
		return func(w *writer, v reflect.Value) {
			at := exported[time.Time](v)
			_, offset := at.Zone()
			w.num(uint64(at.Unix()))
			w.num(uint64(at.Nanosecond()))
			w.num(uint64(int64(offset)))
			w.text(at.Location().String())
		}
	case t == zoneType:
		return func(w *writer, v reflect.Value) {
			if v.IsNil() {
				w.num(0)
				return
			}
			w.num(1)
			w.text(exported[*time.Location](v).String())
		}
	}
	switch t.Kind() {
	case reflect.Bool:
		return func(w *writer, v reflect.Value) {
			if v.Bool() {
				w.num(1)
			} else {
				w.num(0)
			}
		}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return func(w *writer, v reflect.Value) { w.num(uint64(v.Int())) }
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return func(w *writer, v reflect.Value) { w.num(v.Uint()) }
	case reflect.Float32, reflect.Float64:
		return func(w *writer, v reflect.Value) { w.num(math.Float64bits(v.Float())) }
	case reflect.String:
		return func(w *writer, v reflect.Value) { w.text(v.String()) }
	case reflect.Pointer:
		elem := planOf(t.Elem())
		return func(w *writer, v reflect.Value) {
			if v.IsNil() {
				w.num(0)
				return
			}
			w.num(1)
			elem(w, v.Elem())
		}
	case reflect.Slice, reflect.Array:
		elem := planOf(t.Elem())
		return func(w *writer, v reflect.Value) {
			if t.Kind() == reflect.Slice && v.IsNil() {
				w.num(math.MaxUint64)
				return
			}
			w.num(uint64(v.Len()))
			for i := range v.Len() {
				elem(w, v.Index(i))
			}
		}
	case reflect.Map:
		return mapPlan(t)
	case reflect.Struct:
		fields := make([]plan, t.NumField())
		for i := range fields {
			fields[i] = planOf(t.Field(i).Type)
		}
		return func(w *writer, v reflect.Value) {
			for i, f := range fields {
				f(w, v.Field(i))
			}
		}
	}
	return func(_ *writer, v reflect.Value) {
		if t.Kind() == reflect.Interface || t.Kind() == reflect.Func || t.Kind() == reflect.Chan {
			if v.IsNil() {
				return
			}
		}
		panic(fmt.Sprintf("memo: a %v has no content", t))
	}
}

// mapPlan writes a map in the order of its keys' contents.
func mapPlan(t reflect.Type) plan {
	key, elem := planOf(t.Key()), planOf(t.Elem())
	return func(w *writer, v reflect.Value) {
		if v.IsNil() {
			w.num(math.MaxUint64)
			return
		}
		w.num(uint64(v.Len()))
		pairs := make([]string, 0, v.Len())
		for it := v.MapRange(); it.Next(); {
			x := writer{h: sha256.New()}
			key(&x, it.Key())
			elem(&x, it.Value())
			x.flush()
			pairs = append(pairs, string(x.h.Sum(nil)))
		}
		slices.SortFunc(pairs, strings.Compare)
		for _, p := range pairs {
			w.text(p)
		}
	}
}

// exported is the value of a type whose inside belongs to another package.
func exported[T any](v reflect.Value) T {
	if !v.CanInterface() {
		panic(fmt.Sprintf("memo: a %v in a field that is not exported has no content: export the field", v.Type()))
	}
	return v.Interface().(T)
}
