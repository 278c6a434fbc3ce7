package fhir

import (
	"bytes"
	"encoding/base32"
	"encoding/json"
	"fmt"
	"sort"
	"strings"

	"github.com/google/uuid"
)

// Resource is one resource of a case as it is read by its address.
type Resource struct {
	Type, ID string
	JSON     json.RawMessage
}

// Kinds are the types of resources that a case has, in the order of the alphabet.
var Kinds = []string{"BodyStructure", "CarePlan", "Condition", "DetectedIssue", "Device", "DeviceRequest", "DeviceUseStatement", "DocumentReference", "Media", "Observation", "Patient", "Procedure", "Provenance"}

// PatientID is the ID of the Patient of a case.
func PatientID(caseID string) string { return uuidOf("case", caseID) }

// short writes a UUID in 26 letters and digits, so that two fit into an ID of at most 64.
var short = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// PatientOf is the Patient's ID within the ID of any resource; "" when it is none of ours.
func PatientOf(kind, id string) string {
	if kind == "Patient" {
		return id
	}
	first, _, ok := strings.Cut(id, ".")
	raw, err := short.DecodeString(first)
	u, err2 := uuid.FromBytes(raw)
	if !ok || err != nil || err2 != nil {
		return ""
	}
	return u.String()
}

// Resources are the resources of a case, each with an ID that leads to the patient, and with references by address.
// They stand in the order of [Bundle].
func Resources(in Input) ([]Resource, error) {
	b, err := build(in)
	if err != nil {
		return nil, err
	}
	patient, err := uuid.Parse(PatientID(in.Review.Case))
	if err != nil {
		return nil, err
	}
	prefix := short.EncodeToString(patient[:]) + "."
	address := map[string]string{} // by UUID
	for _, e := range b.Entry {
		kind, id := e.Resource.(resource).kind()
		if kind == "Patient" {
			address[id] = id
			continue
		}
		u, err := uuid.Parse(id)
		if err != nil {
			return nil, fmt.Errorf("fhir: entry %q is no UUID: %w", id, err)
		}
		address[id] = prefix + short.EncodeToString(u[:])
	}
	kindOfID := map[string]string{}
	for _, e := range b.Entry {
		kind, id := e.Resource.(resource).kind()
		kindOfID[id] = kind
	}
	var out []Resource
	for _, e := range b.Entry {
		kind, id := e.Resource.(resource).kind()
		raw, err := encode(e.Resource)
		if err != nil {
			return nil, err
		}
		raw = bytes.Replace(raw, []byte(`"id":"`+id+`"`), []byte(`"id":"`+address[id]+`"`), 1)
		raw = addressed(raw, kindOfID, address)
		out = append(out, Resource{kind, address[id], raw})
	}
	return out, nil
}

// addressed writes references as addresses instead of URNs.
func addressed(raw []byte, kind, address map[string]string) []byte {
	const before = `"reference":"urn:uuid:`
	var out bytes.Buffer
	for {
		i := bytes.Index(raw, []byte(before))
		if i < 0 || len(raw) < i+len(before)+36 {
			out.Write(raw)
			return out.Bytes()
		}
		id := raw[i+len(before) : i+len(before)+36]
		out.Write(raw[:i])
		if to, ok := address[string(id)]; ok {
			out.WriteString(`"reference":"` + kind[string(id)] + "/" + to)
		} else {
			out.WriteString(before)
			out.Write(id)
		}
		raw = raw[i+len(before)+36:]
	}
}

// SearchSet is a page of the answer to a search: the resources of this page of total found, each with its address under
// base, the page's own address, and that of the next page, "" on the last.
func SearchSet(found []Resource, total int, base, self, next string) ([]byte, error) {
	b := bundle{head: head{ResourceType: "Bundle"}, Type: "searchset", Total: &total, Link: []bundleLink{{"self", self}}}
	if next != "" {
		b.Link = append(b.Link, bundleLink{"next", next})
	}
	for _, r := range found {
		b.Entry = append(b.Entry, bundleEntry{FullURL: base + "/" + r.Type + "/" + r.ID, Resource: r.JSON, Search: &entrySearch{"match"}})
	}
	return json.Marshal(b)
}

// Metadata is the CapabilityStatement: what can be read, and how it is searched.
func Metadata(version, date string) ([]byte, error) {
	type interaction struct {
		Code string `json:"code"`
	}
	type search struct {
		Name          string `json:"name"`
		Type          string `json:"type"`
		Documentation string `json:"documentation"`
	}
	type restResource struct {
		Type        string        `json:"type"`
		Interaction []interaction `json:"interaction"`
		SearchParam []search      `json:"searchParam,omitempty"`
	}
	type rest struct {
		Mode          string `json:"mode"`
		Documentation string `json:"documentation"`
		Security      struct {
			Description string `json:"description"`
		} `json:"security"`
		Resource []restResource `json:"resource"`
	}
	r := rest{Mode: "server", Documentation: "Read only. A page of a search holds at most 1000 resources, fewer with _count; its link \"next\" leads to the one behind it. Lowtide advises; it controls no pump and is no alarm system."}
	r.Security.Description = "A token that an administrator made, sent as Authorization: Bearer. It has kinds of resources, teams and an end."
	for _, k := range Kinds {
		p := search{"patient", "reference", "the patient whose resources are wanted: needed"}
		if k == "Patient" {
			p = search{"identifier", "token", "the record number, or the case"}
		}
		r.Resource = append(r.Resource, restResource{k, []interaction{{"read"}, {"search-type"}}, []search{p}})
	}
	sort.Slice(r.Resource, func(i, j int) bool { return r.Resource[i].Type < r.Resource[j].Type })
	return json.Marshal(struct {
		ResourceType string   `json:"resourceType"`
		Status       string   `json:"status"`
		Date         string   `json:"date"`
		Kind         string   `json:"kind"`
		Software     any      `json:"software"`
		Instance     any      `json:"implementation"` // R4 asks for it of an instance (cpb-14)
		FHIRVersion  string   `json:"fhirVersion"`
		Format       []string `json:"format"`
		Rest         []rest   `json:"rest"`
	}{"CapabilityStatement", "active", date, "instance", map[string]string{"name": "Lowtide", "version": version}, map[string]string{"description": "Entries of negative-pressure wound therapy and their review, as Lowtide keeps them"}, "4.0.1", []string{"json"}, []rest{r}})
}

// Outcome is an OperationOutcome that says what is wrong.
func Outcome(code, words string) []byte {
	raw, err := json.Marshal(map[string]any{"resourceType": "OperationOutcome", "issue": []any{map[string]any{"severity": "error", "code": code, "diagnostics": words}}})
	if err != nil {
		return nil // two strings are always JSON
	}
	return raw
}
