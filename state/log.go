package state

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/pumplog"
	"lowtide/state/memo"
	"lowtide/unit"
)

// Delivered is what the logs of one pump tell.
type Delivered struct {
	Pump string
	// Entries are the imports, oldest first; ReadAt is when the newest was read in, To its last reading.
	Entries []string
	ReadAt  time.Time
	To      time.Time
	// Result is nil when the readings cannot be had; Why then says why.
	Result *pumplog.Result
	Why    string
}

// LogsOf judges the logs of every pump of the case, the pump whose log reaches furthest last.
func LogsOf(c *casebook.Case) []Delivered {
	var out []Delivered
	at := map[string]int{}
	for i := range c.Logs {
		l := &c.Logs[i]
		k, ok := at[l.Body.Pump]
		if !ok {
			k = len(out)
			at[l.Body.Pump] = k
			out = append(out, Delivered{Pump: l.Body.Pump})
		}
		d := &out[k]
		d.Entries = append(d.Entries, l.ID)
		if l.At.After(d.ReadAt) {
			d.ReadAt = l.At
		}
		if l.Body.To.After(d.To) {
			d.To = l.Body.To
		}
	}
	for i := range out {
		out[i].judge(c)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].To.Before(out[j].To) })
	return out
}

// judge unpacks the pump's logs and judges them, or remembers what it found before.
func (d *Delivered) judge(c *casebook.Case) {
	orders := logOrders(c)
	set := pumplog.Usual
	if n := len(c.Changes); n > 0 {
		set.TrendFrom = c.Changes[n-1].At
	}
	var blobs []string
	for _, l := range c.Logs {
		if l.Body.Pump == d.Pump {
			blobs = append(blobs, l.Blob)
		}
	}
	if c.Blob == nil {
		d.Why = "the log's readings are not kept beside its entry"
		return
	}
	var err error
	// A blob opens only in its own case, so the case is part of what is remembered.
	if d.Result, err = judged.Try(judgedLog{c.ID, c.Zone, d.Pump, blobs, orders, set}, func() (*pumplog.Result, error) {
		logs, err := unpack(c, blobs)
		if err != nil {
			return nil, err
		}
		return pumplog.Judge(pumplog.Merge(logs...), orders, c.Zone, set, pumplog.Period{}), nil
	}); err != nil {
		d.Why = err.Error()
	}
}

// unpack reads the logs of the blobs. Errors say in the nurse's words why their readings cannot be had.
func unpack(c *casebook.Case, blobs []string) (logs []*pumplog.Log, err error) {
	for _, hash := range blobs {
		if hash == "" {
			return nil, errors.New("the log's readings are not kept beside its entry")
		}
		raw, err := c.Blob(hash)
		if errors.Is(err, casebook.ErrNotBrought) {
			return nil, errors.New("the log's readings were not brought along when the case was imported")
		}
		if err != nil {
			return nil, errors.New("the log's readings cannot be opened")
		}
		l, err := pumplog.Unpack(raw)
		if err != nil {
			return nil, errors.New("the log's readings are damaged")
		}
		logs = append(logs, l)
	}
	return logs, nil
}

// logOrders are the orders as pumplog takes them; one that cannot be run is left out, so its time has no order.
func logOrders(c *casebook.Case) []pumplog.Order {
	var out []pumplog.Order
	for _, o := range c.Orders {
		p, ok := Program(o.Body)
		if !ok {
			continue
		}
		q := pumplog.Order{From: o.At}
		if o.EndedAt != nil {
			q.To = *o.EndedAt
		}
		for _, s := range p {
			if s.SuctionMmHg > 400 || !(s.HoldMin+s.RampMin > 0) {
				ok = false
			}
			q.Stages = append(q.Stages, pumplog.Stage{SuctionMmHg: s.SuctionMmHg, HoldMin: s.HoldMin, RampMin: s.RampMin})
		}
		if ok {
			out = append(out, q)
		}
	}
	return out
}

// memoLogs bounds how many judged logs are kept: up to about 300 kB each for four months, 20 kB for a week.
const memoLogs = 128

// judgedLog is everything that a judgement of a pump's logs depends on.
type judgedLog struct {
	Case   string
	Zone   *time.Location
	Pump   string
	Blobs  []string
	Orders []pumplog.Order
	Set    pumplog.Settings
}

// judged remembers judged logs. A result is not modified.
var judged = memo.New[judgedLog, *pumplog.Result](memoLogs, nil)

// recentDays is over how much of the end of a log findings are told.
const recentDays = 7

// logFacts sets what the logs tell. Of several pumps that are with the patient the one counts whose log looks worse;
// a pump that went back counts no more.
func logFacts(c *casebook.Case, all []Delivered, set Sink) {
	open := map[string]bool{}
	for _, p := range OpenPumps(c) {
		open[p.Assigned.Body.Pump] = true
	}
	var list []Delivered
	var entries []string
	for _, d := range all {
		if open[d.Pump] {
			list, entries = append(list, d), append(entries, d.Entries...)
		}
	}
	set("log.exists", len(list) > 0, entries...)
	if len(list) == 0 {
		return
	}
	last := list[len(list)-1]
	set("log.read_at", last.ReadAt, last.Entries...)
	set("log.to", last.To, last.Entries...)
	set("log.pump", last.Pump, last.Entries...)
	for _, d := range list {
		if d.Result == nil {
			set("log.why", d.Why, d.Entries...)
			return
		}
	}
	var f logFact
	f.leakWords = "no trend"
	for _, d := range list {
		f.add(c, d)
	}
	f.set(c, set)
}

// logFact gathers the worst of several pumps' logs.
type logFact struct {
	most      *float64
	mostBy    []string
	days      int
	low       string
	covered   *float64
	off       pumplog.Spell
	offMost   float64
	offBy     []string
	grow      *bool
	growPct   float64
	leakWords string
	blocks    []pumplog.Episode
	blockBy   []string
	alarm     string
	alarms    int
	alarmLast time.Time
	battery   *float64
	ageing    string
	other     *bool // another program than ordered; false when that cannot be told either
	pattern   string
	offPct    *float64
	mean      float64
	ordered   float64
	entries   []string
}

// since is the later of the start of the log's last week and of the last dressing change.
func (f *logFact) since(c *casebook.Case, r *pumplog.Result) (week, changed time.Time) {
	week = r.To.AddDate(0, 0, -recentDays)
	if n := len(c.Changes); n > 0 {
		changed = c.Changes[n-1].At
	}
	return week, changed
}

func (f *logFact) add(c *casebook.Case, d Delivered) {
	r := d.Result
	f.entries = append(f.entries, d.Entries...)
	week, changed := f.since(c, r)
	f.hours(d)
	if f.covered == nil || r.CoveredPct < *f.covered {
		v := r.CoveredPct
		f.covered = &v
	}
	for _, s := range r.OffSpell {
		if s.To.Before(week) || !s.To.After(changed) {
			continue // a dressing put on afterwards has settled it
		}
		if s.Minutes > f.off.Minutes {
			f.off, f.offBy = s, d.Entries
		}
		f.offMost = math.Max(f.offMost, s.MostMin)
	}
	if r.Leak.Growing != "cannot tell" {
		yes := r.Leak.Growing == "yes"
		if f.grow == nil || yes {
			f.grow = &yes
			if r.Leak.GrowthPct != nil {
				f.growPct = *r.Leak.GrowthPct
			}
			f.leakWords = leakWords(r)
		}
	} else if f.grow == nil && r.Leak.Method != "" && changed.After(r.To) {
		no := false
		f.grow = &no
	}
	for _, e := range r.Episodes {
		if e.Kind == pumplog.Blockage && e.To.After(week) && e.To.After(changed) && e.To.After(lastCanister(c)) {
			f.blocks, f.blockBy = append(f.blocks, e), d.Entries
		}
	}
	f.alarmsOf(c, r, week, changed)
	if b := r.Battery; b.LeftPct != nil && (f.battery == nil || *b.LeftPct < *f.battery) {
		f.battery, f.ageing = b.LeftPct, b.Ageing
	}
	f.differs(c, d)
}

// hours is the mean of the hours a day that can have been at the ordered suction at most, over the last whole days.
func (f *logFact) hours(d Delivered) {
	var sum, n float64
	low, lowAt := math.Inf(1), ""
	days := d.Result.Days
	for i := len(days) - 1; i >= 0 && n < recentDays; i-- {
		x := &days[i]
		if !x.Whole() {
			continue
		}
		h := (x.AtTargetMin + x.UnknownMin) / x.PeriodMin * 24
		sum, n = sum+h, n+1
		if h < low {
			low, lowAt = h, x.Date
		}
	}
	if n == 0 {
		return
	}
	if v := sum / n; f.most == nil || v < *f.most {
		day, _ := time.Parse(time.DateOnly, lowAt)
		f.most, f.mostBy, f.days, f.low = &v, d.Entries, int(n), fmt.Sprintf("%s h on %s", unit.Number(low, 1), day.Format("Mon 2 Jan"))
	}
}

func leakWords(r *pumplog.Result) string {
	l := r.Leak
	if l.PerDay == nil || l.GrowthPct == nil || len(l.Points) == 0 {
		return l.Method
	}
	return fmt.Sprintf("by the %s it grew by %s %s a day to %s %s", l.Method, unit.Number(*l.PerDay, 1), l.Unit, unit.Number(l.Points[len(l.Points)-1].Value, 1), l.Unit)
}

// lastCanister is when a canister was last changed.
func lastCanister(c *casebook.Case) (t time.Time) {
	for _, r := range c.Canister {
		if r.Body.Changed != nil && *r.Body.Changed {
			t = r.At
		}
	}
	return t
}

// alarmsOf counts the alarm that came most often since the last dressing change.
func (f *logFact) alarmsOf(c *casebook.Case, r *pumplog.Result, week, changed time.Time) {
	count := map[string]int{}
	last := map[string]time.Time{}
	for _, a := range r.Alarms {
		if a.From.After(week) && a.From.After(changed) {
			count[a.Words]++
			last[a.Words] = a.From
		}
	}
	var words []string
	for w := range count {
		words = append(words, w)
	}
	sort.Strings(words)
	for _, w := range words {
		if count[w] > f.alarms {
			f.alarm, f.alarms, f.alarmLast = w, count[w], last[w]
		}
	}
}

// differDays is over how much of the end of a log its suction is compared with the order.
const differDays = 3

// differs compares with the order, as long as it is the one now in force.
func (f *logFact) differs(c *casebook.Case, d Delivered) {
	o := c.Order()
	r := d.Result
	if o == nil || o.At.After(r.To.Add(-6*time.Hour)) {
		return
	}
	if other := r.Pattern.Matches == "no"; f.other == nil || other {
		f.other, f.pattern = &other, r.Pattern.Words
	}
	p, ok := Program(o.Body)
	if !ok || !(p.MeanMmHg() > 0) {
		return
	}
	var sum, known float64
	for _, h := range r.Hours {
		if h.OffMin == 0 && !h.At.Before(o.At) && h.At.After(r.To.Add(-differDays*24*time.Hour)) {
			sum, known = sum+h.MeanMmHg*h.KnownMin, known+h.KnownMin
		}
	}
	if known < 60 {
		return
	}
	off := 100 * math.Abs(sum/known/p.MeanMmHg()-1)
	if f.offPct == nil || off > *f.offPct {
		f.offPct, f.mean, f.ordered = &off, sum/known, p.MeanMmHg()
	}
}

func (f *logFact) set(c *casebook.Case, set Sink) {
	set.setNum("log.covered_pct", f.covered, f.entries...)
	if f.most != nil {
		set("log.most_h", *f.most, f.mostBy...)
		set("log.days", float64(f.days), f.mostBy...)
		set("log.low_day", f.low, f.mostBy...)
	}
	set("log.off_h", f.off.Minutes/60, f.offBy...)
	set("log.off_most_h", f.offMost/60, f.entries...)
	if f.off.Minutes > 0 {
		set("log.off_at", f.off.From, f.offBy...)
	}
	set.setBool("log.leak_growing", f.grow, f.entries...)
	if f.grow != nil {
		set("log.leak_growth_pct", f.growPct, f.entries...)
		set("log.leak_words", f.leakWords, f.entries...)
	}
	set("log.blockages", float64(len(f.blocks)), f.entries...)
	longest := 0.0
	for _, b := range f.blocks {
		longest = math.Max(longest, b.Minutes/60)
	}
	set("log.blockage_h", longest, f.entries...)
	if n := len(f.blocks); n > 0 {
		set("log.blockage_at", f.blocks[n-1].From, f.blockBy...)
	}
	set("log.alarms", float64(f.alarms), f.entries...)
	if f.alarms > 0 {
		set("log.alarm", strings.ToLower(f.alarm), f.entries...)
		set("log.alarm_at", f.alarmLast, f.entries...)
	}
	set.setNum("log.battery_left_pct", f.battery, f.entries...)
	set.setText("log.ageing", f.ageing, f.entries...)
	set.setBool("log.other_program", f.other, f.entries...)
	set.setText("log.pattern", f.pattern, f.entries...)
	if f.offPct != nil {
		set("log.mean_off_pct", *f.offPct, f.entries...)
		set("log.mean_mmHg", f.mean, f.entries...)
		set("log.ordered_mmHg", f.ordered, f.entries...)
	}
}

// logFigures are the numbers of the newest log that pages show.
func logFigures(s *State, show func(Figure)) {
	if s.Case.Ended != nil {
		return
	}
	c, all, add := s.Case, s.Logs, figured(show)
	for _, d := range all {
		r := d.Result
		if r == nil {
			continue
		}
		at := d.To
		const source = "the pump's log; docs/model/pumplog.md"
		name := func(s string) string {
			if len(all) > 1 {
				return s + ", pump " + d.Pump
			}
			return s
		}
		id := func(s string) string {
			if len(all) > 1 {
				return s + "/" + d.Pump
			}
			return s
		}
		covered := fmt.Sprintf("%s of %s; the rest is unknown, neither on nor off", unit.Duration(r.CoveredMin/60), unit.Duration((r.CoveredMin+r.UnknownMin)/60))
		add(Figure{ID: id("log.covered"), Name: name("Covered by the log"), Value: r.CoveredPct, Unit: "%", Text: unit.Number(r.CoveredPct, 0) + " %", Method: covered, Source: source, At: &at, Entries: d.Entries})
		if r.OrderedMin > 0 {
			add(Figure{ID: id("log.at_target"), Name: name("At the ordered suction"), Value: 100 * r.AtTargetMin / r.OrderedMin, Unit: "%",
				Text:   fmt.Sprintf("%s %% of what the log covers (%s)", unit.Number(100*r.AtTargetMin/r.OrderedMin, 0), unit.Duration(r.AtTargetMin/60)),
				Method: fmt.Sprintf("minutes within %s mmHg of the order", unit.Number(pumplog.Usual.BandMmHg, 0)), Source: source, At: &at, Entries: d.Entries})
		}
		if s := r.Dose.SharePct; s != nil {
			add(Figure{ID: id("log.dose"), Name: name("Share of the ordered dose"), Value: *s, Unit: "%",
				Text:   fmt.Sprintf("%s %% (%s to %s %% with what is unknown)", unit.Number(*s, 0), unit.Number(*r.Dose.LeastPct, 0), unit.Number(*r.Dose.MostPct, 0)),
				Method: "suction × time delivered over ordered, over the time that the log covers", Source: source, At: &at, Entries: d.Entries})
		}
		if s, ok := r.LongestOff(); ok {
			add(Figure{ID: id("log.off"), Name: name("Longest time off"), Value: s.Minutes / 60, Unit: "h",
				Text:   fmt.Sprintf("%s from %s", unit.Duration(s.Minutes/60), Clock(c.Zone, s.From)),
				Method: fmt.Sprintf("without a break of more than 2 min; with unknown time beside it at most %s", unit.Duration(s.MostMin/60)), Source: source, At: &at, Entries: d.Entries})
		}
	}
}
