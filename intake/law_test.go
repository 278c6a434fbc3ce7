package intake

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lowtide/casebook"
)

// drawFields fills a struct with random values that its tags allow.
func drawFields(t *rapid.T, v reflect.Value, fields []Field) {
	for i := range fields {
		f := &fields[i]
		if !f.Required && rapid.Bool().Draw(t, f.Name+" absent") {
			continue
		}
		to := v.FieldByIndex(f.index)
		if to.Kind() == reflect.Pointer {
			to.Set(reflect.New(to.Type().Elem()))
			to = to.Elem()
		}
		switch {
		case f.Name == "wound": // the one that every drawn case has
			to.SetString("A")
		case f.Name == "wounds" && f.Type == TypeWords:
			to.Set(reflect.ValueOf([]string{"A"}))
		default:
			drawValue(t, to, f)
		}
	}
}

func drawValue(t *rapid.T, v reflect.Value, f *Field) {
	switch f.Type {
	case TypeText:
		v.SetString(drawText(t, f))
	case TypeDate:
		v.SetString(drawTime(t, f.Name).Format(time.DateOnly))
	case TypeTime:
		if v.Kind() == reflect.String {
			v.SetString(drawTime(t, f.Name).Format(time.RFC3339Nano))
		} else {
			v.Set(reflect.ValueOf(drawTime(t, f.Name)))
		}
	case TypeNumber:
		x := rapid.Float64Range(*f.Min, *f.Max).Draw(t, f.Name)
		if x == 0 {
			x = 0 // no minus zero: intake reads it as zero
		}
		v.SetFloat(x)
	case TypeCount:
		v.SetInt(rapid.Int64Range(int64(*f.Min), int64(*f.Max)).Draw(t, f.Name))
	case TypeYesNo:
		v.SetBool(rapid.Bool().Draw(t, f.Name))
	case TypeGroup:
		drawFields(t, v, f.Fields)
	case TypeAnswers:
		m := map[string]string{}
		for _, q := range casebook.Questions {
			if a := rapid.SampledFrom([]string{"", "yes", "no", "unknown"}).Draw(t, q.ID); a != "" {
				m[q.ID] = a
			}
		}
		v.Set(reflect.ValueOf(m))
	case TypeWords, TypeRows:
		n := rapid.IntRange(max(f.MinItems, 1), min(f.MaxItems, 4)).Draw(t, f.Name+" items")
		s := reflect.MakeSlice(v.Type(), n, n)
		for i := range n {
			if f.Type == TypeRows {
				drawFields(t, s.Index(i), f.Fields)
			} else {
				s.Index(i).SetString(drawText(t, &Field{Name: f.Name, Enum: f.Enum, MinLength: 1, MaxLength: 40}))
			}
		}
		v.Set(s)
	}
}

func drawText(t *rapid.T, f *Field) string {
	if f.Enum != nil {
		return rapid.SampledFrom(f.Enum).Draw(t, f.Name)
	}
	r := rapid.Rune().Filter(func(r rune) bool { return !isControl(r) && r != ' ' && r < 0xd800 })
	least := max(f.MinLength-1, 0)
	tail := rapid.StringOfN(r, least, max(least, min(f.MaxLength-1, 30)), -1)
	return "x" + tail.Draw(t, f.Name) // a text of spaces alone counts as absent
}

func drawTime(t *rapid.T, name string) time.Time {
	at := time.Unix(rapid.Int64Range(now.Add(-4000*time.Hour).Unix(), now.Add(-40*time.Hour).Unix()).Draw(t, name), 0)
	minutes := rapid.IntRange(-12*4, 14*4).Draw(t, name+" offset") * 15
	return fixed(at.In(time.FixedZone("", minutes*60)))
}

// mend changes what tags cannot say, so that the entries fit together.
func mend(t *rapid.T, e *casebook.Entry, earlier []casebook.Entry) {
	next := e.At.Add(48 * time.Hour)
	switch b := e.Body.(type) {
	case casebook.PersonRegistered:
		b.Zone = rapid.SampledFrom([]string{"Europe/Berlin", "America/St_Johns", "Pacific/Chatham", "UTC"}).Draw(t, "zone")
		e.Body = b
	case casebook.WoundFound:
		b.InPlace, b.InPlaceUnknown = onePerFiller(b.InPlace), b.InPlaceUnknown && len(b.InPlace) == 0
		e.At = drawnStart
		e.Recorded, e.Body = e.At, b
	case casebook.OrderWritten:
		b.AcceptsRisks = []string{"anticoagulant"}
		b.GoalKind, b.GoalAreaCm2, b.GoalGranulationPct = "", nil, nil
		if b.GoalDepthCm != nil {
			b.GoalKind = "depth under"
		}
		e.Body = b
	case casebook.LogImported:
		if b.To.Before(b.From) {
			b.From, b.To = b.To, b.From
		}
		b.NotUsed = min(b.NotUsed, b.Rows)
		e.Body = b
	case casebook.PiecesAccounted:
		b.By = "Dr One"
		e.Body = b
	case casebook.DecisionMade:
		b.NextAt = &next
		e.Body = b
	case casebook.PayerNoted:
		if b.Start != "" && b.HomeSince != "" && b.HomeSince < b.Start {
			b.Start, b.HomeSince = b.HomeSince, b.Start
		}
		e.Body = b
	case casebook.PumpAssigned:
		b.CanisterML = nil
		e.Body = b
	case casebook.DressingChanged:
		b.Wounds = b.Wounds[:1]
		w := &b.Wounds[0]
		w.Out, w.In = onePerFiller(w.Out), onePerFiller(w.In)
		w.NoneOut, w.NoneIn = w.NoneOut && len(w.Out) == 0, w.NoneIn && len(w.In) == 0
		b.Signs = b.Signs[:min(len(b.Signs), 1)]
		if b.NextVisit != nil {
			b.NextVisit = &next
		}
		if b.Canister != nil {
			b.Canister.SizeML = nil
		}
		e.Body = b
	case casebook.WoundMeasured:
		if b.VolumeCm3 == nil || b.VolumeMethod == "" {
			b.VolumeCm3, b.VolumeMethod = nil, ""
		}
		for i := range b.Tunnels {
			b.Tunnels[i].ToClock = nil
		}
		b.NoneUnder = b.NoneUnder && len(b.Undermining)+len(b.Tunnels) == 0
		if b.Tissue != nil {
			g := rapid.Float64Range(0.5, 100).Draw(t, "granulation")
			b.Tissue = &casebook.Tissue{GranulationPct: g, SloughPct: 100 - g}
		}
		e.Body = b
	case casebook.PhotoTaken:
		b.WidthPx, b.HeightPx = 800, 600
		e.Body, e.Blobs = b, []string{casebook.BlobHash([]byte(e.ID))}
	case casebook.OutlineTraced:
		mendOutline(t, e, b, earlier)
	case casebook.CanisterRead:
		b.SizeML = nil
		e.Body = b
	case casebook.NoteWritten:
		b.Signs = b.Signs[:min(len(b.Signs), 1)]
		if b.NextVisit != nil {
			b.NextVisit = &next
		}
		e.Body = b
	case casebook.AlarmReported:
		if b.OffSince != nil {
			b.OffSince = &e.At
		}
		e.Body = b
	case casebook.EntryCorrected:
		e.Reason = "misread"
		target := earlier[len(earlier)-1]
		e.Corrects = target.ID
		switch b.Action {
		case "replace":
			body := target.Body
			if in, ok := body.(casebook.EntryCorrected); ok && in.Action == "moved in" {
				body = in.Original.Body // what moved in is replaced as what it is
			}
			raw, err := json.Marshal(body)
			if err != nil {
				t.Fatal(err)
			}
			b = casebook.EntryCorrected{Action: b.Action, Body: raw}
		case "moved in":
			o := target
			o.Case, o.ID = "case-other", "00000000-0000-7000-8000-999999999999"
			b = casebook.EntryCorrected{Action: b.Action, OtherCase: o.Case, Original: &o}
			e.Corrects = o.ID
		case "moved out":
			b = casebook.EntryCorrected{Action: b.Action, OtherCase: "case-other"}
		default:
			b = casebook.EntryCorrected{Action: b.Action}
		}
		e.Body = b
	}
}

var drawnStart = now.Add(-5000 * time.Hour)

func onePerFiller(list []casebook.Pieces) []casebook.Pieces {
	if len(list) > 1 {
		return list[:1]
	}
	return list
}

// drawFile makes a case with entries of every kind, in random order of time.
func drawFile(t *rapid.T) CaseFile {
	file := CaseFile{Format: Format, Version: FormatVersion, Case: "case-" + drawText(t, &Field{Name: "case", MaxLength: 20})}
	kinds := append([]casebook.Kind{casebook.KindWoundFound}, rapid.SliceOfN(rapid.SampledFrom(casebook.Kinds()), 1, 12).Draw(t, "kinds")...)
	kinds = append(kinds, "later.kind")
	for i, kind := range kinds {
		e := casebook.Entry{ID: fmt.Sprintf("00000000-0000-7000-8000-%012x", i+1), Case: file.Case, Kind: kind, Version: 1, At: drawTime(t, "at"), Author: drawText(t, &Field{Name: "author", MaxLength: 20})}
		e.Recorded = e.At.Add(time.Duration(rapid.IntRange(0, 3600).Draw(t, "written after")) * time.Second)
		if rapid.Bool().Draw(t, "with photo") {
			e.Blobs = []string{casebook.BlobHash([]byte{byte(i)})}
		}
		if b := casebook.NewBody(kind); b != nil {
			v := reflect.ValueOf(b).Elem()
			drawFields(t, v, fieldsOf(v.Type()))
			e.Body = v.Interface().(casebook.Body)
		} else {
			e.Body = casebook.Unknown{Of: kind, Raw: json.RawMessage(`{"a":[1,"\u003cb\u003e"]}`)}
		}
		mend(t, &e, file.Entries)
		file.Entries = append(file.Entries, e)
	}
	return file
}

// mendOutline draws the outline on a photo of the case; when there is none yet the entry becomes one.
func mendOutline(t *rapid.T, e *casebook.Entry, b casebook.OutlineTraced, earlier []casebook.Entry) {
	b.Photo = ""
	for _, p := range earlier {
		if p.Kind == casebook.KindPhotoTaken {
			b.Photo = p.ID
		}
	}
	if b.Photo == "" {
		e.Kind, e.Body, e.Blobs = casebook.KindPhotoTaken, casebook.PhotoTaken{Wound: "A", WidthPx: 800, HeightPx: 600}, []string{casebook.BlobHash([]byte(e.ID))}
		return
	}
	for i := range b.Parts {
		b.Parts[i] = casebook.TracedPart{Edge: "10,10 700,12.5 350,590", EdgeCm: "0,0 4.125,0 2,3", Islands: []string{"300,100 400,100 350,200"}}
	}
	b.Scale.Ruler = "1,1 101,1"
	if b.Scale.RulerCm == nil {
		b.Scale.By = "two strips"
	}
	b.Scale.OneLaid = b.Scale.OneLaid && b.Scale.By == "one strip"
	if b.Tissue != nil {
		g := rapid.Float64Range(0.5, 100).Draw(t, "granulation")
		b.Tissue, b.TissueFrom = &casebook.Tissue{GranulationPct: g, SloughPct: 100 - g}, "suggested"
	}
	b.VolumeModel, b.HeadCm, b.Marks, b.MarksCm = "cone", "0,-1", "5,5 70,8", "0.1,0.1 1.4,0.2"
	e.Body = b
}

// TestLawRoundTrip: what is written reads as what it was, without a problem, and writes the same bytes.
func TestLawRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		file := drawFile(t)
		var first, second bytes.Buffer
		if err := WriteCaseFile(&first, file); err != nil {
			t.Fatal(err)
		}
		got, ps := ReadCaseFile(first.Bytes(), now)
		for _, p := range ps {
			if p.Code != CodeUnknownKind || p.Value != "later.kind" {
				t.Fatalf("%v\n%s", p, first.Bytes())
			}
		}
		if len(ps) != 1 {
			t.Errorf("%d notices, want the one for later.kind", len(ps))
		}
		if len(got.Entries) != len(file.Entries) {
			t.Fatalf("%d entries of %d came back", len(got.Entries), len(file.Entries))
		}
		for i := range got.Entries {
			if !reflect.DeepEqual(got.Entries[i], file.Entries[i]) {
				t.Fatalf("entry %d: got\n%#v\nwant\n%#v", i, got.Entries[i], file.Entries[i])
			}
		}
		if err := WriteCaseFile(&second, got); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Error("the second writing differs")
		}
		if ps := CheckEntries(nil, file.Entries, now); ps.Err() != nil {
			t.Errorf("CheckEntries finds what reading does not: %v", ps)
		}
	})
}

// TestLawOrder: the order of entries changes no verdict, only places.
func TestLawOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		file := drawFile(t)
		file.Entries[0].At = now.Add(-50 * time.Hour) // the wound is found late: some entries are before it
		codes := func(list []casebook.Entry) map[string]int {
			m := map[string]int{}
			for _, p := range CheckEntries(nil, list, now) {
				m[p.Entry+" "+string(p.Code)]++
			}
			return m
		}
		want := codes(file.Entries)
		shuffled := rapid.Permutation(file.Entries).Draw(t, "order")
		if got := codes(shuffled); !reflect.DeepEqual(got, want) {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}
