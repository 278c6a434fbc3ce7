package week

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// earthKm is the mean radius of the Earth (IUGG).
const earthKm = 6371.0088

// GreatCircle is the distance in km along a great circle between two points in degrees, by the haversine formula
// (Sinnott 1984, Sky and Telescope 68:159, from memory).
func GreatCircle(lat1, lon1, lat2, lon2 float64) float64 {
	const rad = math.Pi / 180
	a := math.Pow(math.Sin((lat2-lat1)*rad/2), 2) + math.Cos(lat1*rad)*math.Cos(lat2*rad)*math.Pow(math.Sin((lon2-lon1)*rad/2), 2)
	return 2 * earthKm * math.Asin(math.Min(1, math.Sqrt(a)))
}

// straight is the straight line between two places in km; ok is false where one has no coordinates, or the two are not
// on one map.
func straight(a, b Place) (km float64, ok bool) {
	switch {
	case a.Lat != nil && a.Lon != nil && b.Lat != nil && b.Lon != nil:
		return GreatCircle(*a.Lat, *a.Lon, *b.Lat, *b.Lon), true
	case a.East != nil && a.North != nil && b.East != nil && b.North != nil:
		return math.Hypot(*a.East-*b.East, *a.North-*b.North), true
	}
	return 0, false
}

// Located tells whether a place has coordinates.
func (p Place) Located() bool { return p.Lat != nil && p.Lon != nil || p.East != nil && p.North != nil }

// atlas answers how long a way takes. factor is what was learnt: how much longer ways take than computed.
type atlas struct {
	r      *Roster
	factor float64
	legs   map[[2]string]float64
	asked  map[[2]string]float64
}

func newAtlas(r *Roster, factor float64) *atlas {
	a := &atlas{r: r, factor: factor, legs: map[[2]string]float64{}, asked: map[[2]string]float64{}}
	for _, l := range r.Measured {
		a.asked[[2]string{Key(l.From), Key(l.To)}] = l.Minutes
	}
	for _, l := range r.Roads.Legs {
		a.legs[[2]string{Key(l.From), Key(l.To)}] = l.Minutes
	}
	return a
}

// slowest is the lowest speed in a span of minutes of the day, so that a way planned with it never takes longer.
func (a *atlas) slowest(from, to int) float64 {
	v := math.Inf(1)
	for h := from / 60; h <= (to-1)/60 && h < 24; h++ {
		v = min(v, a.r.Roads.SpeedKmH[h])
	}
	return v
}

// minutes is the way between two places at a speed on a day; known is false where it is a guess.
func (a *atlas) minutes(from, to string, kmH float64, day string) (minutes float64, known bool) {
	from, to = Key(from), Key(to)
	if from == to {
		return 0, true
	}
	m, ok := a.legs[[2]string{from, to}]
	if !ok {
		m, ok = a.legs[[2]string{to, from}]
	}
	if !ok {
		if m, ok = a.asked[[2]string{from, to}]; ok {
			m *= a.factor
		}
	}
	if !ok {
		var km float64
		if km, ok = straight(a.r.Places[from], a.r.Places[to]); ok {
			m = km * a.r.Roads.Detour / kmH * 60 * a.factor
		} else {
			m = a.r.Settings.GuessMin
		}
	}
	for _, c := range a.r.Closed {
		f, t := Key(c.From), Key(c.To)
		if c.Day == day && (f == from && t == to || f == to && t == from || t == "" && (f == from || f == to)) {
			m += c.Extra
		}
	}
	return m, ok
}

// InDegrees lists the places of cases and nurses that have degrees, by name: those that a road server can be asked for.
func (r *Roster) InDegrees(cases []Case) []Place {
	used := map[string]bool{}
	for _, c := range cases {
		used[Key(c.Place)] = true
	}
	for _, n := range r.Nurses {
		used[Key(n.Base)] = true
	}
	var out []Place
	for _, k := range slices.Sorted(maps.Keys(used)) {
		if p, ok := r.Places[k]; ok && p.Lat != nil && p.Lon != nil {
			out = append(out, p)
		}
	}
	return out
}

// shorten makes a table of travel times obey the triangle inequality: nobody drives a longer way than she must (Floyd
// 1962, Communications of the ACM 5(6)).
func shorten(t []float64, n int) {
	for k := range n {
		for i := range n {
			for j := range n {
				t[i*n+j] = min(t[i*n+j], t[i*n+k]+t[k*n+j])
			}
		}
	}
}

// mostLegs is how many travel times a file may have.
const mostLegs = 100000

// ReadLegs reads travel times from CSV: from, to, minutes; a first line without a number is a heading. Every problem is
// listed with its line; with any, nothing is to be used.
func ReadLegs(in io.Reader) (legs []Leg, problems []string) {
	r := csv.NewReader(io.LimitReader(in, 16<<20))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	seen := map[[2]string]float64{}
	for n := 1; ; n++ {
		row, err := r.Read()
		if err == io.EOF {
			return legs, problems
		}
		if err != nil {
			var p *csv.ParseError
			if errors.As(err, &p) {
				return legs, append(problems, fmt.Sprintf("line %d: this is not CSV (%v): put a text with commas or quotes into quotes", p.Line, p.Err))
			}
			return legs, append(problems, err.Error())
		}
		line, _ := r.FieldPos(0)
		bad := func(f string, a ...any) {
			problems = append(problems, fmt.Sprintf("line %d: ", line)+fmt.Sprintf(f, a...))
		}
		if len(problems) > 100 {
			return legs, append(problems, "and more: mend these first")
		}
		if len(row) != 3 {
			bad("%d columns: write from, to, minutes", len(row))
			continue
		}
		from, to := strings.TrimSpace(row[0]), strings.TrimSpace(row[1])
		m, err := strconv.ParseFloat(strings.TrimSpace(row[2]), 64)
		switch {
		case err != nil && n == 1:
			continue
		case err != nil || !(m >= 0 && m <= 600):
			bad("%q: write minutes from 0 to 600", row[2])
		case from == "" || to == "":
			bad("a place is missing: write from, to, minutes")
		case !utf8.ValidString(from+to) || utf8.RuneCountInString(from) > 200 || utf8.RuneCountInString(to) > 200:
			bad("a place is longer than 200 characters or no text")
		case len(legs) >= mostLegs:
			return legs, append(problems, fmt.Sprintf("more than %d lines: leave out ways that nobody drives", mostLegs))
		default:
			k := [2]string{Key(from), Key(to)}
			if old, twice := seen[k]; twice && old != m {
				bad("from %s to %s stands here with %v and before with %v: keep one", from, to, m, old)
			}
			seen[k] = m
			legs = append(legs, Leg{from, to, m})
		}
	}
}

// Trip is a way that a nurse made between two visits, as her entries tell: from the end of one to the start of the next.
type Trip struct {
	From, To string
	Minutes  float64
	Hour     int
}

// leastTrips is from how many trips on roads are learnt; before, the factor is 1.
const leastTrips = 12

// Learn returns how much longer ways take than computed, as the median over trips (eq. 5 in docs/model/week.md): trips of less than a
// third or more than four times the computed time are not ways alone. n is how many counted.
func Learn(r *Roster, trips []Trip) (factor float64, n int) {
	a := newAtlas(r, 1)
	var q []float64
	for _, t := range trips {
		m, known := a.minutes(t.From, t.To, r.Roads.SpeedKmH[min(max(t.Hour, 0), 23)], "")
		if known && m >= 2 && t.Minutes >= m/3 && t.Minutes <= 4*m {
			q = append(q, t.Minutes/m)
		}
	}
	if len(q) < leastTrips {
		return 1, len(q)
	}
	slices.Sort(q)
	return q[len(q)/2], len(q)
}
