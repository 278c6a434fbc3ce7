// Package fhir shows one case and its review as an HL7 FHIR R4 Bundle, and reads Bundles of others into proposed
// entries that a nurse accepts or leaves. It computes nothing: every number comes from the case or its review.
//
// Codes are used only where they were verified (docs/format/fhir.md lists each with its source); everything else is
// text with a code system of our own, whose names resolve nowhere.
package fhir

// The names of our own systems. The domain is reserved for examples (RFC 2606): nothing is ever fetched from it.
const (
	systemOwn    = "https://lowtide.example/fhir/"
	systemKind   = systemOwn + "entry-kind"
	systemField  = systemOwn + "entry-field"
	systemRule   = systemOwn + "rule"
	systemFigure = systemOwn + "figure"
	systemAct    = systemOwn + "act"
	systemCase   = systemOwn + "case"
	systemRecord = systemOwn + "record-number"
	systemPump   = systemOwn + "pump-number"
	systemWound  = systemOwn + "wound"

	systemLOINC  = "http://loinc.org"
	systemSNOMED = "http://snomed.info/sct"
	systemUCUM   = "http://unitsofmeasure.org"
)
