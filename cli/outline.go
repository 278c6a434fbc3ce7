package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"lowtide/outline"
)

func init() { commands = append(commands, newOutline) }

// outlineAnswer is what `lowtide outline` prints: the edge in pixels and, where a scale is known, the sizes.
type outlineAnswer struct {
	Outline []outline.Point   `json:"outline"`
	Holes   [][]outline.Point `json:"holes"`
	Status  string            `json:"status"`
	*outline.Measures
	// NoScale says why there are no sizes.
	NoScale *outline.Refusal `json:"no_scale,omitempty"`
}

func newOutline() *cobra.Command {
	var marks, loop string
	var exact, asJSON, oneStrip bool
	var ruler, girth float64
	c := &cobra.Command{
		Use:   "outline PHOTO --loop LOOP.json [--marks MARKS.json | --one-strip] [--exact]",
		Short: "Measure a wound that is outlined on a photo",
		Long: "Reads a photo (JPEG or PNG) and a loop drawn around the wound, [[x, y], ...] in pixels from the top left of the\n" +
			"upright photo, and measures it. The scale comes from the strips in the photo or from marks whose places are\n" +
			"known: [{\"px\": [x, y], \"cm\": [x, y]}, ...]. With --exact the loop is measured as it stands. Nobody but the\n" +
			"nurse confirms an outline. It supports and does not replace clinical judgement.\n\n" +
			"Two strips are expected. Where one is found no sizes are given: the other may be covered or cut off, and no photo\n" +
			"shows whether the skin under a single strip slopes. With --one-strip you say that only one was laid, and that it\n" +
			"lies level with the wound; the sizes are then given with a larger standard error.",
		Args: exactly(1, "one photo"),
		RunE: func(c *cobra.Command, args []string) error {
			if loop == "" {
				return errUsage{errors.New("name the file of the loop: --loop LOOP.json")}
			}
			raw, err := readInput(c.InOrStdin(), args[0], outline.MostPhotoBytes)
			if err != nil {
				return errUsage{fmt.Errorf("cannot read %s: %w", args[0], err)}
			}
			points, err := readParsed(c, loop, parseLoop)
			if err != nil {
				return err
			}
			if oneStrip && marks != "" {
				return errUsage{errors.New("--one-strip is about strips, and with --marks the scale is from the marks: leave one of the two out")}
			}
			var known []outline.Mark
			if marks != "" {
				if known, err = readParsed(c, marks, parseMarks); err != nil {
					return err
				}
			}
			if girth != 0 && !(girth >= leastGirth && girth <= mostGirth) {
				return errUsage{fmt.Errorf("--girth-cm is %g; give how far it is around the limb at the wound, %g to %g cm, or leave it out", girth, leastGirth, mostGirth)}
			}
			answer, err := measurePhoto(raw, points, known, outline.FindOptions{RulerMm: ruler, OneLaid: oneStrip}, outline.MeasureOptions{Exact: exact, BodyRadiusCm: girth / (2 * math.Pi)})
			var refused *outline.Refusal
			if errors.As(err, &refused) {
				if asJSON {
					_ = json.NewEncoder(c.OutOrStdout()).Encode(map[string]any{"refused": refused})
				}
				fmt.Fprintf(c.ErrOrStderr(), "lowtide: %s: %v\n", args[0], refused)
				return errQuiet
			}
			if err != nil {
				return err
			}
			if asJSON {
				return json.NewEncoder(c.OutOrStdout()).Encode(answer)
			}
			printOutline(c.OutOrStdout(), answer)
			return nil
		},
	}
	c.Flags().StringVar(&marks, "marks", "", "file of marks whose places are known")
	c.Flags().StringVar(&loop, "loop", "", "file of the loop around the wound")
	c.Flags().Float64Var(&ruler, "ruler-mm", 0, "what the strips' check ruler of 150 mm measures on the printed sheet")
	c.Flags().BoolVar(&oneStrip, "one-strip", false, "say that only one strip was laid, level with the wound")
	c.Flags().Float64Var(&girth, "girth-cm", 0, "how far it is around the limb at the wound, when the wound lies on a limb")
	c.Flags().BoolVar(&exact, "exact", false, "measure the loop as it stands")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// Girths that a limb can have, from a child's finger to a large thigh, cm.
const (
	leastGirth = 4.0
	mostGirth  = 200.0
)

// readParsed reads a JSON input and lists every problem in it.
func readParsed[T any](c *cobra.Command, name string, parse func([]byte) (T, []problem)) (T, error) {
	var none T
	raw, err := readInput(c.InOrStdin(), name, mostInput)
	if err != nil {
		return none, errUsage{fmt.Errorf("cannot read %s: %w", name, err)}
	}
	v, problems := parse(raw)
	if len(problems) > 0 {
		for _, p := range problems {
			fmt.Fprintln(c.ErrOrStderr(), p)
		}
		return none, errUsage{fmt.Errorf("%d in %s; nothing was measured", len(problems), name)}
	}
	return v, nil
}

// measurePhoto is the road from bytes to sizes.
func measurePhoto(raw []byte, loop []outline.Point, marks []outline.Mark, find outline.FindOptions, opt outline.MeasureOptions) (outlineAnswer, error) {
	photo, err := outline.ReadPhoto(raw)
	if err != nil {
		return outlineAnswer{}, err
	}
	traced := outline.Traced{Outer: loop, Status: "as given"}
	if !opt.Exact {
		if traced, err = outline.Refine(photo.Image, loop); err != nil {
			return outlineAnswer{}, err
		}
	}
	answer := outlineAnswer{Outline: traced.Outer, Holes: traced.Holes, Status: traced.Status}
	if answer.Holes == nil {
		answer.Holes = [][]outline.Point{}
	}
	var plane outline.Plane
	if marks != nil {
		if plane, err = outline.PlaneFromMarks(marks, photo.WidthPx, photo.HeightPx); err != nil {
			return answer, err
		}
		plane.FocalPx = photo.FocalPx
	} else {
		find.FocalPx = photo.FocalPx
		plane, _, err = outline.FindStrips(photo.Image, find)
		if errors.As(err, &answer.NoScale) {
			answer.NoScale = namingFlag(answer.NoScale, find)
			return answer, nil // an edge without sizes is an answer too
		}
		if err != nil {
			return answer, err
		}
	}
	m, err := outline.Measure(traced, plane, opt)
	if err != nil {
		return answer, err
	}
	answer.Measures = &m
	if m.Scale == "one strip" {
		answer.Status += "; scale from one strip, which cannot tell whether the skin under it slopes"
	}
	return answer, nil
}

// namingFlag says in a refusal's remedy which flag makes or takes back the statement that it speaks of.
func namingFlag(r *outline.Refusal, opt outline.FindOptions) *outline.Refusal {
	out := *r
	switch {
	case r.Reason == outline.OneStripOnly:
		out.Remedy += " The flag --one-strip says so."
	case r.Reason == outline.StripsMany && opt.OneLaid:
		out.Remedy += " Leave --one-strip out."
	}
	return &out
}

func printOutline(w io.Writer, a outlineAnswer) {
	fmt.Fprintf(w, "Outline: %d points, %d islands; %s.\n", len(a.Outline), len(a.Holes), a.Status)
	if m := a.Measures; m != nil {
		fmt.Fprintf(w, "Area %.2f cm², standard error %.2f cm²; edge %.1f cm; greatest length %.2f cm, width square to it %.2f cm.\n", m.AreaCm2, m.SE, m.PerimeterCm, m.LengthCm, m.WidthCm)
		fmt.Fprintf(w, "Roundness %.2f (a circle is 1); centre of the area at pixel %.0f, %.0f.\n", m.Roundness, m.CentroidPx.X, m.CentroidPx.Y)
		fmt.Fprintf(w, "Scale from %s: %.1f pixels a centimetre, camera tilted by %.0f degrees.\n", m.Scale, m.PxPerCm, m.TiltDeg)
		for _, p := range m.SEParts {
			fmt.Fprintf(w, "  standard error from %s: %.3f cm²\n", p.Name, p.SE)
		}
		if m.CannotTell != "" {
			fmt.Fprintln(w, m.CannotTell)
		}
		for _, n := range m.Notes {
			fmt.Fprintln(w, n)
		}
	}
	if a.NoScale != nil {
		fmt.Fprintln(w, "No sizes:", a.NoScale)
	}
	fmt.Fprintln(w, "An outline counts only when the nurse has confirmed it.")
}
