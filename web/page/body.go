package page

import (
	"time"

	"lowtide/casebook"
	"lowtide/chart"
	"lowtide/web/static"
)

// bodySheet is the file with the figures of the body map.
const bodySheet = "body.svg"

// smallChildYears is the age below which the drawing has the build of a small child.
const smallChildYears = 6

func smallChild(c *casebook.Case, now time.Time) bool {
	if c == nil || c.Person == nil {
		return false
	}
	born, err := time.Parse(time.DateOnly, c.Person.Body.Born)
	return err == nil && now.Before(born.AddDate(smallChildYears, 0, 0))
}

// bodyMarks are the wounds of a case that have a place on the drawing, and the letters of those that have none.
func bodyMarks(c *casebook.Case) (marks []chart.BodyMark, unplaced []string) {
	if c == nil {
		return nil, nil
	}
	for i := range c.Wounds {
		w := &c.Wounds[i]
		if w.Found == nil || !chart.OnBody(w.Found.Body.Spot, w.Found.Body.Side) {
			unplaced = append(unplaced, w.Name)
			continue
		}
		marks = append(marks, chart.BodyMark{Letter: w.Name, Spot: w.Found.Body.Spot, Side: w.Found.Body.Side})
	}
	return marks, unplaced
}

// BodyView is the body map of a case.
type BodyView struct {
	// SVG is empty where no wound has a place on it.
	SVG string
	// Words are the wounds with their sites as written; Place leads to placing those that have no place.
	Words []Part
	Place []Link
}

func bodyView(c *casebook.Case, k Clock) *BodyView {
	if len(c.Wounds) == 0 {
		return nil
	}
	marks, unplaced := bodyMarks(c)
	v := &BodyView{}
	if len(marks) > 0 {
		v.SVG = chart.Body(static.Path(bodySheet), smallChild(c, k.Now), marks, chart.BodyAloud(marks), nil)
	}
	for i := range c.Wounds {
		if f := c.Wounds[i].Found; f != nil {
			v.Words = append(v.Words, Part{"Wound " + c.Wounds[i].Name, f.Body.Site})
		}
	}
	for _, name := range unplaced {
		if f := c.Wound(name).Found; f != nil {
			v.Place = append(v.Place, Link{CasePath(c.ID, "correct", f.ID) + "?do=replace", "Place wound " + name + " on the body map"})
		}
	}
	return v
}

// bodyPicker is the drawing of a form, on which a finger chooses place and side.
func bodyPicker(c *casebook.Case, now time.Time) string {
	marks, _ := bodyMarks(c)
	return chart.Body(static.Path(bodySheet), smallChild(c, now), marks, "Body map. Choose the place in the list below, or tap it here", func(s chart.BodySpot, side string, at chart.Point) string {
		return chart.SpotMark(s.Name, side, at)
	})
}
