package fhir

import (
	"strings"
	"testing"

	"lowtide/casebook"
)

// A Bundle as another system may write it: its own IDs and references, codes of the HL7 skin wound guide, UCUM units.
const foreignBundle = `{"resourceType":"Bundle","type":"collection","entry":[
{"fullUrl":"https://other.example/Patient/p1","resource":{"resourceType":"Patient","id":"p1","identifier":[{"value":"77-3"}],"name":[{"family":"Invented","given":["Nora","Q"]}],"birthDate":"1950-04","address":[{"line":["Quay 4"],"city":"Haven"}]}},
{"fullUrl":"https://other.example/Condition/w1","resource":{"resourceType":"Condition","id":"w1","subject":{"reference":"Patient/p1"},"code":{"text":"Pressure injury"},"bodySite":[{"text":"sacrum"}],"stage":[{"summary":{"coding":[{"system":"http://snomed.info/sct","code":"258228008"}]}}],"onsetDateTime":"2026-01-20T10:00:00Z"}},
{"fullUrl":"https://other.example/Condition/h1","resource":{"resourceType":"Condition","id":"h1","subject":{"reference":"Patient/p1"},"code":{"text":"Hypertension"}}},
{"fullUrl":"https://other.example/DeviceRequest/d1","resource":{"resourceType":"DeviceRequest","id":"d1","status":"active","intent":"order","subject":{"reference":"Patient/p1"},"codeCodeableConcept":{"coding":[{"code":"E2402"}]},"requester":{"display":"Dr Invented"},"authoredOn":"2026-02-01T08:00:00Z","parameter":[{"valueQuantity":{"value":-16.7,"unit":"kPa","system":"http://unitsofmeasure.org","code":"kPa"}}]}},
{"resource":{"resourceType":"Observation","id":"o1","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"72287-6"}]},"focus":[{"reference":"https://other.example/Condition/w1"}],"effectiveDateTime":"2026-02-02T09:00:00+01:00","component":[
 {"code":{"coding":[{"system":"http://loinc.org","code":"39126-8"}]},"valueQuantity":{"value":62,"system":"http://unitsofmeasure.org","code":"mm"}},
 {"code":{"coding":[{"system":"http://loinc.org","code":"39125-0"}]},"valueQuantity":{"value":4.5,"unit":"cm"}}]}},
{"resource":{"resourceType":"Observation","id":"o2","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"39127-6"}]},"focus":[{"reference":"https://other.example/Condition/w1"}],"effectiveDateTime":"2026-02-02T09:00:00+01:00","valueQuantity":{"value":2,"unit":"cm"}}},
{"resource":{"resourceType":"Observation","id":"o3","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"72291-8"}]},"effectiveDateTime":"2026-02-02","valueQuantity":{"value":0.2,"system":"http://unitsofmeasure.org","code":"L"}}},
{"resource":{"resourceType":"Observation","id":"o4","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"39126-8"}]},"valueQuantity":{"value":6,"unit":"furlong"}}},
{"resource":{"resourceType":"Observation","id":"o5","status":"entered-in-error","code":{"coding":[{"system":"http://loinc.org","code":"39126-8"}]},"valueQuantity":{"value":6,"unit":"cm"}}},
{"resource":{"resourceType":"Claim","id":"c1"}}]}`

func TestReadForeign(t *testing.T) {
	got, err := Read([]byte(foreignBundle))
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		kind          casebook.Kind
		body, missing string
		unsure        string
	}{
		{casebook.KindPersonRegistered, `{"address":"Quay 4, Haven","name":"Nora Q Invented","record":"77-3"}`, "place zone", ""},
		{casebook.KindWoundFound, `{"since":"2026-01-20","site":"sacrum","stage":"4","type":"pressure","wound":"A"}`, "", "type read from the words"},
		{casebook.KindOrderWritten, `{"prescriber":"Dr Invented","stages":[{"suction_mmHg":125.2`, "", "depth below ambient"},
		{casebook.KindCanisterRead, `{"volume_mL":200}`, "", "level in the canister or what was collected"},
		{casebook.KindWoundMeasured, `{"depth_cm":2,"length_cm":6.2,"width_cm":4.5,"wound":"A"}`, "method", "method"},
	}
	if len(got.Proposals) != len(want) {
		t.Fatalf("%d proposals: %+v", len(got.Proposals), got.Proposals)
	}
	for i, w := range want {
		p := got.Proposals[i]
		if p.Kind != w.kind || !strings.HasPrefix(string(p.Body), w.body) || strings.Join(p.Missing, " ") != w.missing || !strings.Contains(strings.Join(p.Unsure, "; "), w.unsure) {
			t.Errorf("proposal %d is %s %s, missing %v, unsure %v; want %+v", i, p.Kind, p.Body, p.Missing, p.Unsure, w)
		}
	}
	if p := got.Proposals[3]; !p.At.IsZero() {
		t.Errorf("a date without a time of day was read as %v", p.At)
	}
	unread := map[string]string{"Condition/h1": "wound", "Observation/o4": "no unit", "Observation/o5": "entered-in-error", "Claim/c1": "does not read"}
	for _, u := range got.Unread {
		if why, ok := unread[u.From]; !ok || !strings.Contains(u.Why, why) {
			t.Errorf("%s: %s", u.From, u.Why)
		}
		delete(unread, u.From)
	}
	for from := range unread {
		t.Errorf("%s is not listed as unread", from)
	}
}

// A procedure code that stands in public code for this therapy means something else (clinical reference 9.20).
func TestNoTrapCode(t *testing.T) {
	for _, c := range demoCases(t) {
		raw, err := Bundle(Input{Review: reviewed(t, c)})
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(raw), "229070002") {
			t.Fatalf("%s carries the trap code", c.ID)
		}
	}
}

// FuzzRead: no bytes panic, and what is proposed is JSON.
// Slow: a whole Bundle is read into proposals.
func FuzzRead(f *testing.F) {
	f.Add([]byte(foreignBundle))
	f.Add([]byte(`{"resourceType":"Observation","identifier":[{"system":"https://lowtide.example/fhir/entry","value":"x"}],"code":{"coding":[{"system":"https://lowtide.example/fhir/entry-kind","code":"canister.read"}]},"component":[{"code":{"coding":[{"system":"https://lowtide.example/fhir/entry-field","code":"canister.read/a[9].b[2]"}]},"valueInteger":3}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		got, err := Read(raw)
		if err != nil {
			return
		}
		for _, p := range got.Proposals {
			if len(p.From) == 0 {
				t.Fatalf("%s comes from nowhere", p.Kind)
			}
		}
	})
}

func BenchmarkBundle(b *testing.B) {
	c := demoCases(b)[0]
	for _, k := range demoCases(b) {
		if len(k.Log) > len(c.Log) {
			c = k
		}
	}
	r := reviewed(b, c)
	for b.Loop() {
		if _, err := Bundle(Input{Review: r}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(c.Log)), "entries")
}
