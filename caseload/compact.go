package caseload

import (
	"reflect"
	"time"
)

// words holds each text of the rows once: what rules say is the same in many cases. Who uses it holds the lock that the rows
// are under.
type words map[string]string

// mostWords bounds the texts by how many rows there are; beyond it they are forgotten, and only new rows share them.
const mostWords = 100

func (w words) of(s string) string {
	if same, ok := w[s]; ok {
		return same
	}
	w[s] = s
	return s
}

// compact is a copy of a row that holds nothing beside itself: lists have no room to grow, and texts that other rows have,
// too, are theirs. The row is not modified: what it was made from may be shared.
func (w *words) compact(k *kept, rows int) *kept {
	if *w == nil || len(*w) > mostWords*(rows+100) {
		*w = words{}
	}
	return w.copyOf(reflect.ValueOf(k)).Interface().(*kept)
}

var timeType = reflect.TypeFor[time.Time]()

// copyOf copies a value with what its exported fields point to. Fields that are not exported are copied as they are.
func (w words) copyOf(v reflect.Value) reflect.Value {
	switch v.Kind() {
	case reflect.String:
		return reflect.ValueOf(w.of(v.String())).Convert(v.Type())
	case reflect.Pointer:
		if v.IsNil() {
			return v
		}
		to := reflect.New(v.Type().Elem())
		to.Elem().Set(w.copyOf(v.Elem()))
		return to
	case reflect.Slice:
		if v.IsNil() {
			return v
		}
		to := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		for i := range v.Len() {
			to.Index(i).Set(w.copyOf(v.Index(i)))
		}
		return to
	case reflect.Struct:
		to := reflect.New(v.Type()).Elem()
		to.Set(v)
		if v.Type() == timeType {
			return to
		}
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				to.Field(i).Set(w.copyOf(v.Field(i)))
			}
		}
		return to
	}
	return v
}
