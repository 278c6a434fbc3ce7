package pumplog

// Merge makes one log of several of the same pump, in any order: a time that is told twice counts once, the earlier
// log's row. None is modified.
func Merge(logs ...*Log) *Log {
	out := &Log{Words: []string{""}}
	at := map[string]uint8{"": 0}
	for _, l := range logs {
		if out.Pump == "" {
			out.Pump = l.Pump
		}
		out.JoinedMs = max(out.JoinedMs, l.JoinedMs)
		turn := make([]uint8, len(l.Words))
		for i, w := range l.Words {
			n, ok := at[w]
			if !ok && len(out.Words) < 250 {
				n = uint8(len(out.Words))
				at[w], out.Words = n, append(out.Words, w)
			}
			turn[i] = n
		}
		for _, s := range l.Samples {
			if int(s.Alarm) < len(turn) {
				s.Alarm = turn[s.Alarm]
			}
			out.keep(s, &unused{})
		}
	}
	out.tidy(&unused{}, nil)
	if out.JoinedMs > 0 {
		out.cells()
	}
	return out
}
