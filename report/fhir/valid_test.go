package fhir

import (
	"strings"
	"testing"

	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
)

// validator is an independent reader of FHIR R4 that refuses what is not valid.
func validator(t testing.TB) *jsonformat.Unmarshaller {
	um, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		t.Fatal(err)
	}
	return um
}

// Every Bundle of the demo is valid R4 by an independent validator (google/fhir, jsonformat).
func TestCheckValidR4(t *testing.T) {
	um := validator(t)
	for _, c := range demoCases(t) {
		raw, err := Bundle(Input{Review: reviewed(t, c), Papers: []Paper{{Title: "Progress report", Type: "progress report", MIME: "application/pdf", Bytes: []byte("%PDF-1.4")}}})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := um.Unmarshal(raw); err != nil {
			t.Errorf("%s: %v", c.ID, err)
		}
	}
}

// The validator does find faults: each of these is planted into a Bundle that was valid.
func TestValidatorFindsFaults(t *testing.T) {
	um := validator(t)
	c := demoCases(t)[0]
	raw, err := Bundle(Input{Review: reviewed(t, c)})
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range [][2]string{
		{`"status":"final"`, `"status":"finished"`},
		{`"effectiveDateTime":"2`, `"effectiveDateTime":"x2`},
		{`"subject":{`, `"subjekt":{`},
		{`"type":"collection"`, `"type":"heap"`},
		{`"valueQuantity":{"value":`, `"valueQuantity":{"wert":`},
		{`"valueBoolean":`, `"valueString":"x","valueBoolean":`},
	} {
		bad := strings.Replace(string(raw), fault[0], fault[1], 1)
		if bad == string(raw) {
			t.Errorf("%s does not occur", fault[0])
		}
		if _, err := um.Unmarshal([]byte(bad)); err == nil {
			t.Errorf("%s instead of %s was not found", fault[1], fault[0])
		}
	}
}

// Resources read by their address are valid too, lead to their patient, and refer to each other by address.
func TestCheckAddressesValid(t *testing.T) {
	um := validator(t)
	for _, c := range demoCases(t)[:6] {
		list, err := Resources(Input{Review: reviewed(t, c)})
		if err != nil {
			t.Fatal(err)
		}
		have := map[string]bool{}
		for _, r := range list {
			have[r.Type+"/"+r.ID] = true
			if PatientOf(r.Type, r.ID) != PatientID(c.ID) || len(r.ID) > 64 {
				t.Errorf("%s/%s does not lead to its patient", r.Type, r.ID)
			}
			if _, err := um.Unmarshal(r.JSON); err != nil {
				t.Errorf("%s/%s: %v", r.Type, r.ID, err)
			}
		}
		for _, r := range list {
			for _, part := range strings.Split(string(r.JSON), `"reference":"`)[1:] {
				if to, _, _ := strings.Cut(part, `"`); !have[to] {
					t.Errorf("%s/%s refers to %s, which is not there", r.Type, r.ID, to)
				}
			}
		}
		set, err := SearchSet(list[:1], len(list), "http://127.0.0.1/fhir", "http://127.0.0.1/fhir/Observation?_count=1&patient=x", "http://127.0.0.1/fhir/Observation?_after=y&_count=1&patient=x")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := um.Unmarshal(set); err != nil {
			t.Errorf("search set: %v", err)
		}
	}
	meta, err := Metadata("x", "2026-03-04T08:00:00Z")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := um.Unmarshal(meta); err != nil {
		t.Errorf("metadata: %v", err)
	}
	if _, err := um.Unmarshal(Outcome("login", "words")); err != nil {
		t.Errorf("outcome: %v", err)
	}
}
