package seal_test

import (
	"context"
	"errors"
	"reflect"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/seal"
)

var erasing = seal.Deed{At: morning, Author: "A. Admin", Reason: "test patient"}

func part(register, id, call string, b casebook.CallTaken) casebook.Entry {
	b.Call = call
	return casebook.Entry{ID: id, Case: register, Kind: casebook.KindCallTaken, Version: 1, At: morning, Recorded: morning, Author: "a nurse", Body: b}
}

func put(t *testing.T, book casebook.Book, list ...casebook.Entry) {
	t.Helper()
	for i, e := range list {
		e.At = e.At.Add(time.Duration(i) * time.Minute)
		register := casebook.Register{Book: book, ID: e.Case}
		var head string
		var err error
		if casebook.Reserved(e.Case) {
			if _, head, err = register.Entries(context.Background()); err == nil {
				_, err = register.Append(context.Background(), head, e)
			}
		} else if _, head, err = book.Entries(context.Background(), e.Case); err == nil {
			_, err = book.Append(context.Background(), head, e)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// words reads a register of the desk.
func words(t *testing.T, book casebook.Book, call string) ([]casebook.Call, error) {
	t.Helper()
	id := casebook.DeskCall(call)
	list, _, err := casebook.Register{Book: book, ID: id}.Entries(context.Background())
	return casebook.FoldCalls(id, list), err
}

func sound(t *testing.T, book casebook.Book) {
	t.Helper()
	if r, err := book.Verify(context.Background()); err != nil || !r.Sound() {
		t.Errorf("%v, %v", r.Defects, err)
	}
}

// TestEraseTakesTheCallAlong: what was said at the Call desk before the call was joined to the case goes with the case,
// in the same step and under the same entry of the ledger; other calls at the desk stay.
func TestEraseTakesTheCallAlong(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	keys, _ := newKeys(t, s)
	book := casebook.Book{Store: s, Sealer: keys}
	put(t, book,
		part(casebook.DeskCall("c1"), "p1", "c1", casebook.CallTaken{Caller: "Ada Invented", Phone: "0100 1"}),
		part(casebook.DeskCall("c2"), "p2", "c2", casebook.CallTaken{Caller: "somebody else"}),
		note("x", "x1", "a note"),
		part("x", "x2", "c1", casebook.CallTaken{Caller: "Ada Invented", Phone: "0100 1"}),
		part(casebook.DeskCall("c1"), "p3", "c1", casebook.CallTaken{Ended: "goes on in the case", GoesOn: "x"}),
		note("y", "y1", "another case"))
	if err := keys.Erase(ctx, s, "x", erasing); err != nil {
		t.Fatal(err)
	}
	if _, err := words(t, book, "c1"); !errors.Is(err, casebook.ErrErased) {
		t.Errorf("the desk's part of the call can still be read: %v", err)
	}
	if calls, err := words(t, book, "c2"); err != nil || len(calls) != 1 || calls[0].Caller != "somebody else" {
		t.Errorf("another call: %v, %v", calls, err)
	}
	list, err := book.Erased(ctx)
	if err != nil || len(list) != 1 || list[0].Case != "x" || !reflect.DeepEqual(list[0].Also, []string{"~call:c1"}) {
		t.Errorf("the ledger: %+v, %v", list, err)
	}
	all, err := s.CaseKeys(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range all {
		if gone := k.Case == "x" || k.Case == "~call:c1"; gone != (k.ErasedBy == list[0].Entry) || gone != (k.Wrapped == nil) {
			t.Errorf("the key of %s: %+v", k.Case, k)
		}
	}
	sound(t, book)
}

// TestEraseCallOfTwoCases: a call that was joined to the wrong patient and moved belongs to both; either can be erased
// first, and the second still can be.
func TestEraseCallOfTwoCases(t *testing.T) {
	ctx := context.Background()
	for _, first := range []string{"wrong", "right"} {
		s := memory.New()
		keys, _ := newKeys(t, s)
		book := casebook.Book{Store: s, Sealer: keys}
		wrong := part("wrong", "w1", "c1", casebook.CallTaken{Caller: "Ada Invented"})
		moved := casebook.Entry{ID: "r1", Case: "right", Kind: casebook.KindEntryCorrected, Version: 1, At: morning, Recorded: morning, Author: "a nurse", Corrects: "w1",
			Reason: "another patient", Body: casebook.EntryCorrected{Action: "moved in", OtherCase: "wrong", Original: &wrong}}
		put(t, book, part(casebook.DeskCall("c1"), "p1", "c1", casebook.CallTaken{Caller: "Ada Invented"}), wrong, moved)
		if err := keys.Erase(ctx, s, first, erasing); err != nil {
			t.Fatal(err)
		}
		if _, err := words(t, book, "c1"); !errors.Is(err, casebook.ErrErased) {
			t.Errorf("%s erased: the desk's part can still be read: %v", first, err)
		}
		for _, id := range []string{"wrong", "right"} {
			if _, _, err := book.Entries(ctx, id); (id == first) != errors.Is(err, casebook.ErrErased) {
				t.Errorf("%s erased, %s: %v", first, id, err)
			}
			if id != first {
				if err := keys.Erase(ctx, s, id, erasing); err != nil {
					t.Errorf("%s erased, then %s: %v", first, id, err)
				}
			}
		}
		sound(t, book)
	}
}

// failing is a store whose appends fail from the given one on.
type failing struct {
	*memory.Store
	left int
}

var errStop = errors.New("stopped")

func (f *failing) Append(ctx context.Context, caseID, head string, records ...casebook.Record) (string, error) {
	if f.left--; f.left < 0 {
		return "", errStop
	}
	return f.Store.Append(ctx, caseID, head, records...)
}

// TestSplitDesk: a desk in one register is split by calls, also when it is stopped after every number of steps and run
// again; nothing is lost, and the old register's key is gone.
func TestSplitDesk(t *testing.T) {
	ctx := context.Background()
	for stop := range 5 {
		s := memory.New()
		keys, _ := newKeys(t, s)
		book := casebook.Book{Store: s, Sealer: keys}
		put(t, book,
			part(casebook.CallsDesk, "p1", "c1", casebook.CallTaken{Caller: "Ada Invented"}),
			part(casebook.CallsDesk, "p2", "c2", casebook.CallTaken{Patient: "Bo Invented"}),
			part(casebook.CallsDesk, "p3", "c1", casebook.CallTaken{Phone: "0100 1", Note: "hisses"}))
		_, err := keys.SplitDesk(ctx, &failing{s, stop}, erasing)
		if stop < 3 && !errors.Is(err, errStop) || stop >= 3 && err != nil {
			t.Fatalf("stopped after %d: %v", stop, err)
		}
		n, err := keys.SplitDesk(ctx, s, erasing)
		if err != nil || stop < 3 && n != 3 || stop >= 3 && n != 0 {
			t.Fatalf("again after %d: %d, %v", stop, n, err)
		}
		one, err1 := words(t, book, "c1")
		two, err2 := words(t, book, "c2")
		if err1 != nil || err2 != nil || len(one) != 1 || len(two) != 1 {
			t.Fatalf("%v %v %v %v", one, two, err1, err2)
		}
		if c := one[0]; c.Caller != "Ada Invented" || c.Phone != "0100 1" || c.Note != "hisses" || len(c.Entries) != 2 || two[0].Patient != "Bo Invented" {
			t.Errorf("%+v, %+v", c, two[0])
		}
		if k, ok, err := s.CaseKey(ctx, casebook.CallsDesk); !ok || err != nil || k.Wrapped != nil {
			t.Errorf("the old register's key: %+v, %v", k, err)
		}
		sound(t, book)
	}
}
