package cli

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"lowtide/outline"
)

func init() { commands = append(commands, newStrips) }

func newStrips() *cobra.Command {
	var paper string
	var asJSON bool
	c := &cobra.Command{
		Use:   "strips > strips.pdf",
		Short: "Print the scale strips that lie beside a wound on a photo",
		Long: "Writes a PDF of scale strips, seven pairs on a sheet, with a check ruler. Print it at actual size and measure\n" +
			"the ruler. Strips lie on intact skin on opposite sides of the wound, never on it, and are used once.",
		Args: exactly(0, "no argument"),
		RunE: func(c *cobra.Command, _ []string) error {
			for _, p := range outline.Papers {
				if !strings.EqualFold(p.Name, paper) {
					continue
				}
				pdf := outline.StripsPDF(p)
				if asJSON { // []byte is written as base64
					return json.NewEncoder(c.OutOrStdout()).Encode(map[string]any{"paper": p.Name, "ruler_mm": outline.RulerMm, "pdf": pdf})
				}
				_, err := c.OutOrStdout().Write(pdf)
				return err
			}
			return errUsage{fmt.Errorf("--paper %q is not known; it is A4 or Letter", paper)}
		},
	}
	c.Flags().StringVar(&paper, "paper", "A4", "A4 or Letter")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON: the paper, the check ruler's length and the PDF in base64")
	return c
}
