// Package report writes one review as papers: the visit note, the progress report, the handover sheet, the message to the
// prescriber, the patient's leaflet and the ledger of pumps. A [Paper] is blocks of words, tables and charts; report/pdf
// puts it on paper and the pages show the same blocks, so that both say the same. Nothing is computed here.
package report
