package state

import (
	"lowtide/casebook"
	"lowtide/healing"
)

// EndedSizes are the sizes of each wound of a case whose therapy ended, as healing takes them; nil while it goes on.
func EndedSizes(c *casebook.Case) []healing.ClosedCase {
	if c == nil || c.Ended == nil {
		return nil
	}
	var out []healing.ClosedCase
	for i := range c.Wounds {
		w := &c.Wounds[i]
		one := healing.ClosedCase{WoundType: woundType(w)}
		for _, z := range healingSizes(w, c.Zone) {
			if z.AreaReadCm2 != nil {
				one.Sizes = append(one.Sizes, healing.Size{At: z.At, AreaCm2: z.AreaReadCm2, Method: z.Method.ID})
			}
		}
		if len(one.Sizes) > 1 {
			out = append(out, one)
		}
	}
	return out
}
