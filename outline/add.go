package outline

import (
	"math"
	"slices"
)

// Summand is the area of one line with what its standard error is made of, and the photo that it was drawn on.
type Summand struct {
	AreaCm2 float64
	Parts   []Part
	Photo   string
}

// Sum is what [Add] makes of summands. SE is the root of the squares of Parts.
type Sum struct {
	AreaCm2, SE float64
	Parts       []Part
}

// Add adds the areas of lines of one patient's wounds, which must not overlap. It is the one place in which errors of areas
// are added.
//
//	A = Σ aᵢ;  SE² = Σ over names k of SEₖ²                                        (eq. 11 in docs/model/outline.md)
//	SEₖ = Σ uᵢₖ where the error of that name is the same for the lines i, and √Σ uᵢₖ² where each line has its own
//
// The assumption: two errors of one name are the same error or have nothing to do with each other. How the edge was drawn
// is each line's own. The printed size is the same for all photos, because the strips come from one sheet. Everything else
// is the same for the lines of one photo and each photo's own. Errors of different names are independent.
//
// list may be empty: then the sum is zero. Parts are in the order in which their names first come.
//
// Source: JCGM 100:2008, 5.2.2, eq. 13 with correlations of 1 and 0. Checked: testdata/ref/jcgm-2008-gum, uncertainties-sum.
func Add(list []Summand) Sum {
	var out Sum
	var errs []sharedError
	for i, x := range list {
		out.AreaCm2 += x.AreaCm2
		for _, p := range x.Parts {
			e := sharedError{name: p.Name, by: sharedBy(p.Name, i, x.Photo)}
			at := slices.IndexFunc(errs, func(o sharedError) bool { return o.name == e.name && o.by == e.by })
			if at < 0 {
				at, errs = len(errs), append(errs, e)
			}
			errs[at].se += p.SE
		}
	}
	for _, e := range errs {
		at := slices.IndexFunc(out.Parts, func(p Part) bool { return p.Name == e.name })
		if at < 0 {
			at, out.Parts = len(out.Parts), append(out.Parts, Part{Name: e.name})
		}
		out.Parts[at].SE = math.Hypot(out.Parts[at].SE, e.se)
		out.SE = math.Hypot(out.SE, e.se)
	}
	return out
}

// sharedError is an error of a name that the lines of one group have in common.
type sharedError struct {
	name string
	by   any
	se   float64
}

// sharedBy names the group of lines that have the error of a name in common.
func sharedBy(name string, line int, photo string) any {
	switch name {
	case partRetrace, partPoints:
		return line
	case partPrint:
		return nil
	}
	return photo
}
