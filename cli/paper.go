package cli

import (
	"io"

	"github.com/spf13/cobra"

	"lowtide/report"
	"lowtide/report/fhir"
	"lowtide/report/pdf"
	"lowtide/review"
	"lowtide/state"
	"lowtide/web/page"
)

func init() { commands = append(commands, newPaper) }

// newPaper writes a paper of a case file as PDF.
func newPaper() *cobra.Command {
	var frame frameFlags
	var asOf, out, size, entry, lang string
	var asJSON bool
	c := &cobra.Command{
		Use:   "paper KIND FILE",
		Short: "Write a paper of a case file as PDF: " + report.KindNames(),
		Long:  "Writes a paper of the case in a case file (docs/format/case.md; - reads standard input), as of now or of the time\nthat --as-of names. The same case, rules and time give the same bytes. docs/handbook/papers.md shows each.",
		Args:  exactly(2, "a KIND and a FILE or -"),
		RunE: func(c *cobra.Command, args []string) error {
			f, err := frame.readCase(c, args[1], asOf, asJSON)
			if err != nil {
				return err
			}
			defer f.close()
			in := f.input()
			p, err := report.Of(in, args[0], entry, lang)
			if err != nil {
				return errUsage{err}
			}
			if asJSON {
				return printJSON(c.OutOrStdout(), p)
			}
			raw, _, err := pdf.Write(p, pdf.Size(size))
			if err != nil {
				return errUsage{err}
			}
			if out == "-" {
				_, err = c.OutOrStdout().Write(raw)
				return err
			}
			return writeNew(out, func(w io.Writer) error { _, err := w.Write(raw); return err })
		},
	}
	frame.add(c)
	c.Flags().StringVar(&asOf, "as-of", "", "as of this time, such as 2026-03-04T08:00:00Z; default now")
	c.Flags().StringVar(&out, "out", "-", "file to write; - is standard output")
	c.Flags().StringVar(&size, "size", "A4", "A4 or Letter")
	c.Flags().StringVar(&entry, "entry", "", "visit-note: the ID of the visit's entry; default the newest visit")
	c.Flags().StringVar(&lang, "lang", "en", "leaflet: its language, en or es")
	c.Flags().BoolVar(&asJSON, "json", false, "write the paper's blocks as JSON instead")
	return c
}

// input is what papers of the case are written from.
func (f fileCase) input() report.Input {
	folded := f.fold(f.at)
	return report.Input{Review: review.Of(state.Of(folded, f.rules, f.eq, nil, f.at), f.rules), Rules: f.rules, Equipment: f.eq}
}

// paperPDF and bundleOf are what a server sends.
func paperPDF(p *report.Paper, size string) ([]byte, error) {
	raw, _, err := pdf.Write(p, pdf.Size(size))
	return raw, err
}

// The Bundle carries the progress report, so that a system that reads no codes can still show something whole.
func bundleOf(in report.Input) ([]byte, error) {
	papers, err := progressPaper(in)
	if err != nil {
		return nil, err
	}
	return fhir.Bundle(fhir.Input{Review: in.Review, Papers: papers})
}

func progressPaper(in report.Input) ([]fhir.Paper, error) {
	p := report.Progress(in)
	raw, _, err := pdf.Write(p, pdf.A4)
	return []fhir.Paper{{Title: p.Title, Type: "progress report", MIME: "application/pdf", Bytes: raw}}, err
}

// foreignFile reads a FHIR file for the page that takes one.
func foreignFile(raw []byte) (page.Brought, error) {
	got, err := fhir.Read(raw)
	if err != nil {
		return page.Brought{}, err
	}
	var out page.Brought
	for _, p := range got.Proposals {
		out.Proposals = append(out.Proposals, page.Proposal{Kind: p.Kind, At: p.At, Body: p.Body, From: p.From, Missing: p.Missing, Unsure: p.Unsure, Own: p.Entry != ""})
	}
	for _, u := range got.Unread {
		out.Unread = append(out.Unread, page.Part{Label: u.From, Text: u.Why})
	}
	return out, nil
}
