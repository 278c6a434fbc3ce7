package fhir

import (
	"regexp"

	"lowtide/casebook"
)

// The codes below were each seen in a published implementation guide; docs/format/fhir.md names it beside each.
const (
	loincWoundSize = "72287-6"
	loincDrainage  = "72291-8"
	snomedPump     = "462410000"
)

// loincField says which LOINC code a field of an entry has. Indices are left out of the path.
var loincField = map[string]string{
	"wound.measured/length_cm":              "39126-8",
	"wound.measured/width_cm":               "39125-0",
	"wound.measured/depth_cm":               "39127-6",
	"wound.measured/area_cm2":               "89260-4",
	"wound.measured/volume_cm3":             "94083-3",
	"wound.measured/undermining.depth_cm":   "72293-4",
	"wound.measured/undermining.from_clock": "72294-2",
	"wound.measured/tunnels.depth_cm":       "72296-7",
	"wound.measured/tunnels.from_clock":     "72297-5",
	"outline.traced/area_cm2":               "89260-4",
	"outline.traced/length_cm":              "39126-8",
	"outline.traced/width_cm":               "39125-0",
	"outline.traced/volume_cm3":             "94083-3",
	"canister.read/volume_mL":               loincDrainage,
	"dressing.changed/canister.volume_mL":   loincDrainage,
	"dressing.changed/wounds.exudate":       "39116-9",
	"dressing.changed/wounds.bed":           "72371-8",
}

var indices = regexp.MustCompile(`\[\d+\]`)

func loincOf(kind casebook.Kind, path string) (string, bool) {
	code, ok := loincField[string(kind)+"/"+indices.ReplaceAllString(path, "")]
	return code, ok
}

// snomedWord gives the SNOMED CT code of a word of a field. Words without one are text.
var snomedWord = map[string]map[string]string{
	"dressing.changed/wounds.exudate": {"none": "260413007", "little": "255507004", "moderate": "6736007", "much": "255509001"},
	"dressing.changed/wounds.bed":     {"granulation": "225541009", "slough": "449746002", "eschar": "421306004", "epithelium": "449743005"},
}

func snomedOf(kind casebook.Kind, path, word string) (string, bool) {
	code, ok := snomedWord[string(kind)+"/"+indices.ReplaceAllString(path, "")][word]
	return code, ok
}

// snomedStage are the stages of a pressure injury that have a verified code.
var snomedStage = map[string]string{"3": "258224005", "4": "258228008"}
