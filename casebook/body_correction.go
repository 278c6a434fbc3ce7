package casebook

import (
	"encoding/json"
)

// EntryCorrected corrects the entry that Entry.Corrects names, for Entry.Reason.
//
//   - withdraw: the entry should not count. Withdrawing a correction undoes it.
//   - replace: Body (and At, if given) should have been written instead.
//   - moved out: the entry belongs to another patient's case, named in OtherCase; it no longer counts here.
//   - moved in: Original, withdrawn from the case named in OtherCase, counts here.
type EntryCorrected struct {
	Action string `json:"action" jsonschema:"required,enum=withdraw,enum=replace,enum=moved out,enum=moved in" words:"What is wrong"`
	// Body is the replacing body, of the same kind and version as the corrected entry's.
	Body json.RawMessage `json:"body,omitempty" words:"Corrected content"`
	// At is the replacing time, RFC 3339; empty keeps the old one.
	At        string `json:"at,omitempty" jsonschema:"format=date-time" words:"Corrected time"`
	OtherCase string `json:"other_case,omitempty" jsonschema:"maxLength=60" words:"The other case"`
	// Original is the whole entry that moved in.
	Original *Entry `json:"original,omitempty" words:"The moved entry"`
}

// Kind returns the kind of the entry.
func (EntryCorrected) Kind() Kind { return KindEntryCorrected }

// foldEntryCorrected adds nothing: corrections did their work before anything was folded; see [correct].
func foldEntryCorrected(*Folding, *Line, EntryCorrected) {}
