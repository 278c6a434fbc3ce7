package memo_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lowtide/fluid"
	"lowtide/healing"
	"lowtide/state/memo"
	"lowtide/suction"
)

type inner struct {
	N    int
	more []float64
}

type all struct {
	B     bool
	I     int8
	U     uint16
	F     float64
	S     string
	At    time.Time
	Zone  *time.Location
	P     *inner
	List  []inner
	Pair  [2]string
	Map   map[string]*float64
	Again *all
	small string
}

func full() all {
	x := 2.5
	return all{true, -3, 4, 0.25, "ab", time.Date(2026, 3, 10, 9, 0, 0, 5, time.UTC), time.UTC, &inner{1, []float64{1, 2}}, []inner{{2, nil}, {3, []float64{4}}}, [2]string{"x", "y"},
		map[string]*float64{"k": &x, "l": nil}, &all{S: "deeper"}, "small"}
}

// TestContent: equal values have one content, and whatever is changed, anywhere inside, gives another.
func TestContent(t *testing.T) {
	if a, b := memo.Content(full()), memo.Content(full()); a != b {
		t.Fatal("equal values differ")
	}
	seen := map[memo.Key]string{memo.Content(full()): "unchanged"}
	add := func(name string, change func(*all)) {
		t.Helper()
		v := full()
		change(&v)
		k := memo.Content(v)
		if other, twice := seen[k]; twice {
			t.Errorf("%s has the content of %s", name, other)
		}
		seen[k] = name
	}
	add("bool", func(v *all) { v.B = false })
	add("int", func(v *all) { v.I = 3 })
	add("uint", func(v *all) { v.U++ })
	add("float", func(v *all) { v.F = math.Nextafter(v.F, 1) })
	add("minus zero", func(v *all) { v.F = math.Copysign(0, -1) })
	add("zero", func(v *all) { v.F = 0 })
	add("string", func(v *all) { v.S = "a"; v.Pair[0] = "bx" })
	add("nanosecond", func(v *all) { v.At = v.At.Add(1) })
	add("offset", func(v *all) { v.At = v.At.In(time.FixedZone("", 3600)) })
	add("zone", func(v *all) { v.Zone = time.FixedZone("east", 3600) })
	add("no zone", func(v *all) { v.Zone = nil })
	add("no pointer", func(v *all) { v.P = nil })
	add("inside a pointer", func(v *all) { v.P.more[1] = 3 })
	add("nil list", func(v *all) { v.List = nil })
	add("empty list", func(v *all) { v.List = []inner{} })
	add("nil in a list", func(v *all) { v.List[0].more = []float64{} })
	add("moved in a list", func(v *all) { v.List[0], v.List[1] = v.List[1], v.List[0] })
	add("array", func(v *all) { v.Pair[1] = "z" })
	add("map value", func(v *all) { *v.Map["k"] = 1 })
	add("map key", func(v *all) { v.Map["m"] = v.Map["k"]; delete(v.Map, "k") })
	add("deeper", func(v *all) { v.Again.S = "deep" })
	add("not exported", func(v *all) { v.small = "Small" })
}

// leaves calls change for every number, word, truth and time inside a value.
func leaves(v reflect.Value, path string, change func(path string, leaf reflect.Value)) {
	switch {
	case v.Type() == reflect.TypeFor[time.Time]():
		change(path, v)
		return
	case v.Type() == reflect.TypeFor[*time.Location]():
		return
	}
	if strings.Count(path, ".") > 4 {
		return // a type that holds itself has no end
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				leaves(v.Field(i), path+"."+f.Name, change)
			}
		}
	case reflect.Slice:
		if v.IsNil() {
			v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		}
		for i := range v.Len() {
			leaves(v.Index(i), fmt.Sprintf("%s[%d]", path, i), change)
		}
	case reflect.Pointer:
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		leaves(v.Elem(), path, change)
	default:
		change(path, v)
	}
}

// TestEveryField: every field of every input that the state remembers by takes part.
func TestEveryField(t *testing.T) {
	check := func(name string, in reflect.Value, content func() memo.Key, least int) {
		n := 0
		leaves(in, name, func(string, reflect.Value) {}) // makes the empty parts
		leaves(in, name, func(path string, leaf reflect.Value) {
			n++
			was, before := reflect.New(leaf.Type()).Elem(), content()
			was.Set(leaf)
			switch leaf.Kind() {
			case reflect.Float64:
				leaf.SetFloat(leaf.Float() + 1.5)
			case reflect.Int, reflect.Int64, reflect.Uint8:
				leaf.Set(reflect.ValueOf(7).Convert(leaf.Type()))
			case reflect.String:
				leaf.SetString(leaf.String() + "x")
			case reflect.Bool:
				leaf.SetBool(!leaf.Bool())
			case reflect.Struct:
				leaf.Set(reflect.ValueOf(leaf.Interface().(time.Time).Add(time.Minute)))
			default:
				t.Fatalf("%s: a %v", path, leaf.Type())
			}
			if content() == before {
				t.Errorf("%s does not count", path)
			}
			leaf.Set(was)
			if content() != before {
				t.Fatalf("%s was not put back", path)
			}
		})
		if n < least {
			t.Errorf("%s: only %d leaves", name, n)
		}
	}
	var h healing.Input
	check("healing", reflect.ValueOf(&h).Elem(), func() memo.Key { return memo.Content(h) }, 25)
	var f fluid.Course
	check("fluid", reflect.ValueOf(&f).Elem(), func() memo.Key { return memo.Content(f) }, 9)
	var s suction.Setup
	check("suction", reflect.ValueOf(&s).Elem(), func() memo.Key { return memo.Content(s) }, 20)
}

// TestMemo: a function is asked once for each content, the oldest answer goes first, and many may ask at a time.
func TestMemo(t *testing.T) {
	var asked atomic.Int64
	m := memo.New(2, func(n int) int { asked.Add(1); return n * n })
	for i, step := range []struct{ in, asked int }{{3, 1}, {3, 1}, {4, 2}, {3, 2}, {5, 3}, {4, 3}, {5, 3}, {3, 4}} {
		if got := m.Of(step.in); got != step.in*step.in || int(asked.Load()) != step.asked {
			t.Errorf("step %d: %d, asked %d times", i, got, asked.Load())
		}
	}
	m.Forget()
	if m.Of(3); asked.Load() != 5 {
		t.Error("it remembers what it was told to forget")
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for i := range 500 {
				if n := i % 5; m.Of(n) != n*n {
					t.Error("wrong")
				}
			}
		})
	}
	wg.Wait()
}
