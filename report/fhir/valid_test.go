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
		raw, err := Bundle(Input{Case: c, Review: reviewed(t, c), Papers: []Paper{{Title: "Progress report", Type: "progress report", MIME: "application/pdf", Bytes: []byte("%PDF-1.4")}}})
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
	raw, err := Bundle(Input{Case: c, Review: reviewed(t, c)})
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
