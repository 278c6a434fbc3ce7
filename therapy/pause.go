package therapy

import "sort"

// merged returns the windows sorted, without overlaps and without those that have no length.
func merged(in []Window) []Window {
	ws := make([]Window, 0, len(in))
	for _, w := range in {
		if w.ToS > w.FromS {
			ws = append(ws, w)
		}
	}
	sort.Slice(ws, func(i, j int) bool { return ws[i].FromS < ws[j].FromS })
	var out []Window
	for _, w := range ws {
		if n := len(out); n > 0 && w.FromS <= out[n-1].ToS {
			if w.ToS > out[n-1].ToS {
				out[n-1].ToS = w.ToS
			}
			continue
		}
		out = append(out, w)
	}
	return out
}
