package pumplog

import (
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"time"
)

// Options says what the file does not.
type Options struct {
	// Zone is the place whose clocks the file's local times follow; nil is UTC. Times with an offset need none.
	Zone *time.Location
	// Start is the instant of 0 for a column of elapsed time.
	Start time.Time
	// NotAfter is the latest time that can be right, usually now; zero leaves it open.
	NotAfter time.Time
	// AheadMin is by how many minutes the pump's clock was ahead at the last row, AheadAtStartMin at the true time
	// AheadAtStart, or at the first row when that is zero: the straight line through both is the drift.
	AheadMin, AheadAtStartMin float64
	AheadAtStart              time.Time
}

// ErrDrift is two errors of a clock that no clock can have: more than a tenth of the time between them, or the earlier
// one told for a time after the log.
var ErrDrift = errors.New("the two errors of the pump's clock do not belong together: they differ by more than a tenth of the time between them, or the earlier one is not before the last row")

// Report says what became of the rows.
type Report struct {
	Encoding string `json:"encoding"`
	Bytes    int64  `json:"bytes"`
	// Rows counts the rows after the header, Used those in a log, NotUsed the others: listed up to 1000, all counted.
	Rows    int      `json:"rows"`
	Used    int      `json:"rows_used"`
	NotUsed int      `json:"rows_not_used"`
	List    []Unused `json:"rows_unused"`
	Counts  []Reason `json:"reasons,omitempty"`
	// Notes say what was put right: rows put in order, an hour that came twice, a clock that went back.
	Notes []string `json:"notes,omitempty"`
}

// Table is what a file holds: a log for each pump, the one with most rows first.
type Table struct {
	Logs   []Log
	Report Report
}

const (
	maxPumps  = 8
	maxWords  = 200
	maxRuns   = 2048
	deepest   = 400 // mmHg; nothing that serves a wound is deeper
	farMs     = 400 * dayMs
	aboveMmHg = 25 // a reading on the other side of ambient by more than this is no noise
)

// reader holds what is needed while rows stream past.
type reader struct {
	m       Mapping
	opt     Options
	decimal byte
	zone    zoneClock
	u       unused
	logs    []*building
	byPump  map[string]*building
	f       factors
	rows    int
	cells   map[string]int // cells that were not used in rows that were
	startMs int64
	i       indexes
	// badDrift tells that ErrDrift is to be returned.
	badDrift bool
}

// indexes are the positions of the columns, -1 where there is none.
type indexes struct{ time, date, clock, elapsed, suction, flow, motor, battery, plugged, therapy, alarm, pump, most int }

// factors turn the columns' units into the kept ones; counted tells that the time is a number.
type factors struct {
	time, elapsed, suction, flow, motor, battery float64
	counted                                      bool
}

// building is one pump's log in the making.
type building struct {
	Log
	words map[string]uint8
	// folded has the number of each of Words by its folded form.
	folded map[string]uint8
	runs   []run
	turns  int // how often the times turn back
	dir    int
	last   int64
}

// run is a stretch of rows whose times go one way without a gap.
type run struct {
	firstRow, rows, repeated int
	min, max                 int64
}

// Read streams a table. The error is one of reading the source; what cannot be used is in the report. A mapping that
// does not pass Check gives its first problem as an error.
func Read(src io.Reader, m Mapping, opt Options) (*Table, error) {
	if why := m.Check(); len(why) > 0 {
		return nil, fmt.Errorf("pumplog: %s", why[0])
	}
	if opt.Zone == nil {
		opt.Zone = time.UTC
	}
	rd := &reader{m: m, opt: opt, decimal: '.', byPump: map[string]*building{}, cells: map[string]int{}, zone: zoneClock{zone: opt.Zone}}
	if m.Decimal == "," {
		rd.decimal = ','
	}
	rd.prepare()
	counted := &counter{src: src}
	in, encoding := decoded(counted)
	delimiter := byte(',')
	if m.Delimiter != "" {
		delimiter = m.Delimiter[0]
	}
	r := newRowReader(in, delimiter)
	for {
		f, why, ok := r.row()
		if !ok {
			break
		}
		if r.line <= m.HeaderLine || (len(f) == 1 && len(trim(f[0])) == 0 && why == "") {
			continue
		}
		rd.rows++
		if why != "" {
			rd.u.add(r.line, why)
			continue
		}
		rd.row(f, r.line)
	}
	t := rd.finish()
	if rd.badDrift {
		return nil, ErrDrift
	}
	t.Report.Encoding, t.Report.Bytes = encoding, counted.n
	return t, r.err
}

type counter struct {
	src io.Reader
	n   int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.src.Read(p)
	c.n += int64(n)
	return n, err
}

func (rd *reader) prepare() {
	at := func(c Channel) int {
		if x := rd.m.Find(c); x != nil {
			return x.Number - 1
		}
		return -1
	}
	rd.i = indexes{at(Time), at(Date), at(Clock), at(Elapsed), at(Suction), at(Flow), at(Motor), at(Battery), at(Plugged), at(Therapy), at(Alarm), at(Pump), 0}
	if rd.i.time >= 0 {
		rd.i.date, rd.i.clock, rd.i.elapsed = -1, -1, -1
	} else if rd.i.date >= 0 && rd.i.clock >= 0 {
		rd.i.elapsed = -1
	}
	of := func(c Channel) float64 {
		x := rd.m.Find(c)
		if x == nil {
			return 1
		}
		f, _ := factor(c, x.Unit)
		if x.Negative {
			f = -f
		}
		return f
	}
	rd.f = factors{of(Time), of(Elapsed), of(Suction), of(Flow), of(Motor), of(Battery), false}
	if x := rd.m.Find(Time); x != nil {
		rd.f.counted = x.Unit != ""
	}
	rd.i.most = max(rd.i.time, rd.i.date, rd.i.clock, rd.i.elapsed, rd.i.suction)
	if !rd.opt.Start.IsZero() {
		rd.startMs = rd.opt.Start.UnixMilli()
	}
}

func (rd *reader) row(f [][]byte, line int) {
	if len(f) <= rd.i.most {
		rd.u.add(line, "the row has fewer fields than the mapping needs")
		return
	}
	t, why := rd.time(f)
	if why != "" {
		rd.u.add(line, why, text(rd.timeCell(f), 40))
		return
	}
	s := Sample{T: t, Row: uint32(line), Rows: 1, SuctionMmHg: nan32, FlowMLMin: nan32, MotorPct: nan32, BatteryPct: nan32}
	if why := rd.suction(f[rd.i.suction], &s); why != "" {
		rd.u.add(line, why, text(f[rd.i.suction], 40))
		return
	}
	s.FlowMLMin = rd.value(f, rd.i.flow, rd.f.flow, 0, 200_000, "flow")
	s.MotorPct = rd.value(f, rd.i.motor, rd.f.motor, 0, 100.5, "motor's share")
	s.BatteryPct = rd.value(f, rd.i.battery, rd.f.battery, 0, 100.5, "battery")
	s.Plugged = rd.answer(f, rd.i.plugged, "plugged in")
	s.Therapy = rd.answer(f, rd.i.therapy, "therapy")
	b := rd.pump(f)
	if b == nil {
		rd.u.add(line, fmt.Sprintf("it is of one pump more than the %d that one file may hold", maxPumps))
		return
	}
	s.Alarm = b.alarm(f, rd.i.alarm)
	if !known(s.SuctionMmHg) && !known(s.FlowMLMin) && !known(s.BatteryPct) && s.Therapy == 0 && s.Alarm == 0 {
		rd.u.add(line, "it has a time and nothing else")
		return
	}
	b.run(s)
	b.keep(s, &rd.u)
}

func (rd *reader) timeCell(f [][]byte) []byte {
	for _, i := range []int{rd.i.time, rd.i.date, rd.i.elapsed} {
		if i >= 0 && i < len(f) {
			return f[i]
		}
	}
	return nil
}

func (rd *reader) time(f [][]byte) (t int64, why string) {
	switch {
	case rd.i.time >= 0:
		if rd.f.counted {
			v, ok := number(f[rd.i.time], rd.decimal)
			if !ok {
				return 0, "the time cannot be read"
			}
			t = int64(math.Round(v * rd.f.time))
			break
		}
		s, ok := readStamp(f[rd.i.time], rd.m.Dates)
		if !ok || !s.hasDate || !s.hasClock {
			return 0, "the time cannot be read"
		}
		if t, why = rd.instant(s); why != "" {
			return 0, why
		}
	case rd.i.date >= 0:
		d, ok := readStamp(f[rd.i.date], rd.m.Dates)
		c, ok2 := readStamp(f[rd.i.clock], rd.m.Dates)
		if !ok || !ok2 || !d.hasDate || !c.hasClock {
			return 0, "the date or the time of day cannot be read"
		}
		d.hour, d.minute, d.sec, d.msec, d.hasClock = c.hour, c.minute, c.sec, c.msec, true
		d.hasOffset, d.offsetS = c.hasOffset, c.offsetS
		if t, why = rd.instant(d); why != "" {
			return 0, why
		}
	default:
		v, ok := number(f[rd.i.elapsed], rd.decimal)
		if !ok || math.Abs(v*rd.f.elapsed) > 10*366*dayMs {
			return 0, "the elapsed time cannot be read"
		}
		t = rd.startMs + int64(math.Round(v*rd.f.elapsed))
	}
	switch {
	case rd.i.elapsed < 0 && t < 946684800000: // before 2000: a clock that starts anew at 1970 or 1980
		return 0, "the pump's clock was not set: the time lies before the year 2000"
	case t > 4102444800000:
		return 0, "the time lies after the year 2100"
	case !rd.opt.NotAfter.IsZero() && t > rd.opt.NotAfter.UnixMilli()+dayMs:
		return 0, "the time lies in the future"
	}
	return t, ""
}

func (rd *reader) instant(s stamp) (int64, string) {
	if s.first > 0 && rd.m.Dates == "" {
		return 0, "it is not told whether the day or the month comes first"
	}
	t, ok := rd.zone.instant(s)
	if !ok {
		return 0, "the clocks of the place skipped this time"
	}
	return t, ""
}

func (rd *reader) pump(f [][]byte) *building {
	name := ""
	if rd.i.pump >= 0 && rd.i.pump < len(f) {
		if b, ok := rd.byPump[string(f[rd.i.pump])]; ok {
			return b
		}
		name = pumpName(f[rd.i.pump])
	} else if len(rd.logs) > 0 && rd.i.pump < 0 {
		return rd.logs[0]
	}
	for _, b := range rd.logs {
		if b.Pump == name {
			return b
		}
	}
	if len(rd.logs) == maxPumps {
		return nil
	}
	b := &building{Log: Log{Pump: name, Words: []string{""}}, words: map[string]uint8{}, folded: map[string]uint8{}}
	rd.logs = append(rd.logs, b)
	if rd.i.pump >= 0 && rd.i.pump < len(f) {
		rd.byPump[string(f[rd.i.pump])] = b
	}
	return b
}

// alarm gives the number of an alarm's words; words in excess of the table count as "other alarm".
func (b *building) alarm(f [][]byte, i int) uint8 {
	if i < 0 || i >= len(f) || len(f[i]) == 0 {
		return 0
	}
	if n, ok := b.words[string(f[i])]; ok {
		return n
	}
	w := text(trim(f[i]), 60)
	key := fold(w)
	n := uint8(0)
	if key != "" && !noneWords[key] {
		n = b.folded[key]
		if n == 0 {
			if len(b.Words) == maxWords {
				w = "other alarm"
			}
			if len(b.Words) <= maxWords {
				b.Words = append(b.Words, w)
				b.folded[fold(w)] = uint8(len(b.Words) - 1)
			}
			n = uint8(len(b.Words) - 1)
		}
	}
	if len(b.words) < 4*maxWords && len(f[i]) < 200 {
		b.words[string(f[i])] = n
	}
	return n
}

func (rd *reader) finish() *Table {
	t := &Table{}
	rep := &t.Report
	for _, b := range rd.logs {
		b.tidy(&rd.u, b.repeated)
		if b.JoinedMs > 0 {
			b.cells() // the rows of the end, too, so that all steps are alike
		}
		b.far(&rd.u)
		if note := rd.drift(&b.Log); note != "" {
			rep.Notes = append(rep.Notes, ofPump(b.Pump, len(rd.logs))+note)
		}
		if len(b.Samples) == 0 {
			continue
		}
		if b.turns > 0 {
			rep.Notes = append(rep.Notes, fmt.Sprintf("%sThe times turn back %s; the rows were put in order.", ofPump(b.Pump, len(rd.logs)), times(b.turns)))
		}
		for _, d := range b.doubled() {
			b.Samples = without(b.Samples, d, &rd.u)
			rep.Notes = append(rep.Notes, fmt.Sprintf("%sFrom %s to %s the file tells two different things for the same time, as when a clock is set back; that time is unknown.",
				ofPump(b.Pump, len(rd.logs)), time.UnixMilli(d[0]).In(rd.opt.Zone).Format("2 Jan 2006 15:04"), time.UnixMilli(d[1]).In(rd.opt.Zone).Format("2 Jan 2006 15:04")))
		}
		if b.JoinedMs > 0 {
			rep.Notes = append(rep.Notes, fmt.Sprintf("%sRows within %d s were joined to means, to keep a large log small.", ofPump(b.Pump, len(rd.logs)), b.JoinedMs/1000))
		}
		t.Logs = append(t.Logs, b.Log)
	}
	sort.SliceStable(t.Logs, func(i, j int) bool { return len(t.Logs[i].Samples) > len(t.Logs[j].Samples) })
	if rd.zone.Ambiguous > 0 {
		rep.Notes = append(rep.Notes, fmt.Sprintf("%d rows lie in the hour that came twice when the clocks went back; they were told apart by their order.", rd.zone.Ambiguous))
	}
	var words []string
	for w := range rd.cells {
		words = append(words, w)
	}
	sort.Strings(words)
	for _, w := range words {
		rep.Notes = append(rep.Notes, fmt.Sprintf("%d cells were left out: %s.", rd.cells[w], w))
	}
	rep.Rows, rep.NotUsed = rd.rows, rd.u.total
	rep.Used = rep.Rows - rep.NotUsed
	rep.List, rep.Counts = rd.u.list, rd.u.counts
	if rep.List == nil {
		rep.List = []Unused{}
	}
	sort.SliceStable(rep.List, func(i, j int) bool { return rep.List[i].Row < rep.List[j].Row })
	return t
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func ofPump(name string, pumps int) string {
	if pumps < 2 {
		return ""
	}
	return "Pump " + name + ": "
}

// repeated notes, for the run that holds the row, that it only said what a row before had said.
func (b *building) repeated(row int) {
	if i := sort.Search(len(b.runs), func(i int) bool { return b.runs[i].firstRow > row }) - 1; i >= 0 {
		b.runs[i].repeated++
	}
}

// far drops the samples that lie more than 400 days from the greatest part of the log.
func (b *building) far(u *unused) {
	s := b.Samples
	bestFrom, bestTo, from := 0, 0, 0
	for i := 1; i <= len(s); i++ {
		if i == len(s) || s[i].T-s[i-1].T > farMs {
			if i-from > bestTo-bestFrom {
				bestFrom, bestTo = from, i
			}
			from = i
		}
	}
	for i := range s {
		if i < bestFrom || i >= bestTo {
			u.add(int(s[i].Row), "the time lies more than a year from the rest: the pump's clock was wrong")
		}
	}
	b.Samples = s[bestFrom:bestTo]
}

// Interval is the log's usual step in milliseconds: the median of its steps, 0 for less than two samples.
func (l *Log) Interval() int64 {
	n := len(l.Samples) - 1
	if n < 1 {
		return 0
	}
	stride := max(1, n/4096)
	var d []int64
	for i := 0; i < n; i += stride {
		d = append(d, l.Samples[i+1].T-l.Samples[i].T)
	}
	sort.Slice(d, func(i, j int) bool { return d[i] < d[j] })
	return d[len(d)/2]
}
