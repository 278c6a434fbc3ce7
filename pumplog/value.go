package pumplog

import (
	"bytes"
	"math"
	"strconv"
	"time"
)

// trim takes blanks off both ends without looking at more than it must.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	return b
}

var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// number reads a decimal number with the decimal mark, and with a unit written after it. Up to 15 digits are exact to
// the last bit but one; anything else goes to strconv.
func number(b []byte, decimal byte) (float64, bool) {
	b = trim(b)
	if len(b) == 0 || len(b) > 64 {
		return 0, false
	}
	neg, i := false, 0
	switch {
	case b[0] == '-':
		neg, i = true, 1
	case b[0] == '+':
		i = 1
	case len(b) > 3 && b[0] == 0xE2 && b[1] == 0x88 && b[2] == 0x92: // the typographic minus
		neg, i = true, 3
	}
	var n int64
	digits, places, dot := 0, 0, false
	for ; i < len(b); i++ {
		c := b[i]
		if c >= '0' && c <= '9' {
			if digits++; digits > 15 {
				return slowNumber(b, decimal)
			}
			n = n*10 + int64(c-'0')
			if dot {
				places++
			}
			continue
		}
		if c == decimal && !dot {
			dot = true
			continue
		}
		break
	}
	if digits == 0 {
		return 0, false
	}
	if i < len(b) {
		if c := b[i]; (c == 'e' || c == 'E') && i+1 < len(b) && (b[i+1] == '-' || b[i+1] == '+' || (b[i+1] >= '0' && b[i+1] <= '9')) {
			return slowNumber(b, decimal)
		}
		if !unitTail(b[i:]) {
			return 0, false
		}
	}
	v := float64(n) / pow10[places]
	if neg {
		v = -v
	}
	return v, true
}

// unitTail tells whether what follows a number is the name of a unit: letters, per cent, a stroke, and digits only
// after a letter.
func unitTail(b []byte) bool {
	b = trim(b)
	if len(b) == 0 {
		return true
	}
	if len(b) > 8 {
		return false
	}
	for i, c := range b {
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '%'
		if !letter && (i == 0 || c != '/' && c != ' ' && c != '2') {
			return false
		}
	}
	return true
}

func slowNumber(b []byte, decimal byte) (float64, bool) {
	if decimal != '.' {
		b = bytes.ReplaceAll(append([]byte(nil), b...), []byte{decimal}, []byte{'.'})
	}
	for _, c := range b {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

// stamp is a time as written.
type stamp struct {
	year, month, day        int
	hour, minute, sec, msec int
	offsetS                 int
	hasDate, hasClock       bool
	hasOffset, hasSeconds   bool
	first, second           int // the first two numbers of a numeric date that does not begin with the year
}

// readStamp reads a date, a time of day, or both. dates is the order of numeric dates.
func readStamp(b []byte, dates string) (s stamp, ok bool) {
	b = trim(b)
	if len(b) < 4 || len(b) > 40 {
		return s, false
	}
	i := 0
	if !isClock(b) {
		if i, ok = s.date(b, dates); !ok {
			return s, false
		}
		s.hasDate = true
		for i < len(b) && (b[i] == ' ' || b[i] == 'T' || b[i] == 't' || b[i] == ',' || b[i] == '_') {
			i++
		}
		if i == len(b) {
			return s, s.valid()
		}
	}
	return s, s.clock(b[i:]) && s.valid()
}

func isClock(b []byte) bool {
	return len(b) > 2 && (b[1] == ':' || b[2] == ':')
}

func digitsOf(b []byte) (n, used int) {
	for used < len(b) && used < 9 && b[used] >= '0' && b[used] <= '9' {
		n = n*10 + int(b[used]-'0')
		used++
	}
	return n, used
}

func (s *stamp) date(b []byte, dates string) (i int, ok bool) {
	a, n := digitsOf(b)
	if n == 8 { // yyyymmdd
		s.year, s.month, s.day = a/10000, a/100%100, a%100
		return 8, true
	}
	if n == 0 || n == len(b) || n > 4 {
		return 0, false
	}
	sep := b[n]
	i = n + 1
	if sep == '.' && i < len(b) && b[i] == ' ' {
		i++
	}
	if sep != '-' && sep != '/' && sep != '.' && sep != ' ' {
		return 0, false
	}
	m, k := digitsOf(b[i:])
	named := k == 0
	if named {
		if m, k = monthOf(b[i:]); k == 0 {
			return 0, false
		}
	}
	i += k
	for i < len(b) && (b[i] == '-' || b[i] == '/' || b[i] == '.' || b[i] == ' ') {
		i++
	}
	c, k := digitsOf(b[i:])
	if k == 0 || k > 4 {
		return 0, false
	}
	i += k
	switch {
	case n == 4 && k <= 2:
		s.year, s.month, s.day = a, m, c
	case n > 2 || k == 3 || k == 1:
		return 0, false
	default:
		if k == 2 {
			c += 2000
		}
		s.year = c
		s.first, s.second = a, m
		if named {
			s.first, s.second = 0, 0
		}
		switch {
		case named:
			s.day, s.month = a, m
		case dates == "month first":
			s.month, s.day = a, m
		default:
			s.day, s.month = a, m
		}
	}
	return i, true
}

// monthOf reads the name of a month by its first three letters, in the languages of the header words.
func monthOf(b []byte) (month, used int) {
	for used < len(b) && used < 12 && b[used] != '-' && b[used] != ' ' && b[used] != '/' && b[used] != '.' && b[used] != ',' && (b[used] < '0' || b[used] > '9') {
		used++
	}
	if used < 3 {
		return 0, 0
	}
	w := fold(string(b[:used]))
	if len(w) < 3 {
		return 0, 0
	}
	month, ok := months[w[:3]]
	if len(w) >= 4 && (w[:4] == "juil" || w[:4] == "juli") {
		month = 7
	}
	if !ok {
		return 0, 0
	}
	return month, used
}

var months = map[string]int{"jan": 1, "ene": 1, "gen": 1, "jav": 1, "feb": 2, "fev": 2, "mar": 3, "maa": 3, "mrt": 3, "mae": 3, "apr": 4, "avr": 4, "abr": 4,
	"may": 5, "mai": 5, "maj": 5, "mag": 5, "mei": 5, "jun": 6, "jui": 6, "giu": 6, "jul": 7, "lug": 7, "aug": 8, "aou": 8, "ago": 8, "sep": 9, "set": 9,
	"oct": 10, "okt": 10, "out": 10, "ott": 10, "nov": 11, "dec": 12, "dez": 12, "dic": 12, "des": 12}

func (s *stamp) clock(b []byte) bool {
	var n int
	if s.hour, n = digitsOf(b); n == 0 || n > 2 || n >= len(b) || (b[n] != ':' && b[n] != '.' && b[n] != 'h') {
		return false
	}
	sep := b[n]
	b = b[n+1:]
	if s.minute, n = digitsOf(b); n != 2 {
		return false
	}
	b = b[n:]
	if len(b) > 0 && (b[0] == sep || b[0] == ':') {
		if s.sec, n = digitsOf(b[1:]); n != 2 {
			return false
		}
		s.hasSeconds = true
		b = b[1+n:]
		if len(b) > 1 && (b[0] == '.' || b[0] == ',') {
			f, k := digitsOf(b[1:])
			if k == 0 {
				return false
			}
			s.msec = int(float64(f) * 1000 / pow10[k])
			b = b[1+k:]
		}
	}
	b = trim(b)
	s.hasClock = true
	if len(b) == 0 {
		return true
	}
	if half := b[0] | 0x20; (half == 'a' || half == 'p') && len(b) >= 2 && len(b) <= 4 && s.hour >= 1 && s.hour <= 12 {
		if s.hour %= 12; half == 'p' {
			s.hour += 12
		}
		return true
	}
	return s.offset(b)
}

func (s *stamp) offset(b []byte) bool {
	if string(b) == "Z" || string(b) == "z" || string(b) == "UTC" || string(b) == "GMT" {
		s.hasOffset = true
		return true
	}
	if b[0] != '+' && b[0] != '-' {
		return false
	}
	h, n := digitsOf(b[1:])
	m := 0
	rest := b[1+n:]
	switch {
	case n == 4 && len(rest) == 0:
		h, m = h/100, h%100
	case n == 2 && len(rest) == 3 && rest[0] == ':':
		if m, n = digitsOf(rest[1:]); n != 2 {
			return false
		}
	case n == 2 && len(rest) == 0:
	default:
		return false
	}
	if h > 18 || m > 59 {
		return false
	}
	s.hasOffset, s.offsetS = true, h*3600+m*60
	if b[0] == '-' {
		s.offsetS = -s.offsetS
	}
	return true
}

func (s *stamp) valid() bool {
	if s.hour > 24 || s.minute > 59 || s.sec > 60 || (s.hour == 24 && s.minute+s.sec > 0) {
		return false
	}
	if !s.hasDate {
		return s.hasClock
	}
	return s.year >= 1900 && s.year <= 2999 && s.month >= 1 && s.month <= 12 && s.day >= 1 && s.day <= daysIn(s.year, s.month)
}

func daysIn(year, month int) int {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// epochDay counts days since 1970-01-01 in the proleptic Gregorian calendar.
func epochDay(y, m, d int) int64 {
	if m <= 2 {
		y--
		m += 12
	}
	return int64(365*y + y/4 - y/100 + y/400 + (153*(m-3)+2)/5 + d - 719469)
}

// zoneClock turns local times into instants. It remembers the day it last worked on, because nearly all rows of a log
// share it with the row before.
type zoneClock struct {
	zone       *time.Location
	day        int64 // days since 1970 of the remembered day
	known      bool
	plain      bool  // the day has one offset
	offset     int64 // ms, at the day's start
	end        int64 // offset at the day's end
	last       int64
	descending bool
	Ambiguous  int // rows of an hour that came twice
}

const dayMs = 86400_000

// instant returns Unix milliseconds; ok is false for a local time that the clocks of the place skipped.
func (z *zoneClock) instant(s stamp) (int64, bool) {
	day := epochDay(s.year, s.month, s.day)
	local := day*dayMs + int64(s.hour*3600+s.minute*60+s.sec)*1000 + int64(s.msec)
	if s.hasOffset {
		return z.done(local - int64(s.offsetS)*1000), true
	}
	if !z.known || day != z.day {
		noon := time.UnixMilli(day*dayMs + dayMs/2).UTC()
		y, m, d := noon.Date()
		_, a := time.Date(y, m, d, 0, 0, 0, 0, z.zone).Zone()
		_, b := time.Date(y, m, d+1, 0, 0, 0, 0, z.zone).Zone()
		z.day, z.known, z.plain, z.offset, z.end = day, true, a == b, int64(a)*1000, int64(b)*1000
	}
	if z.plain {
		return z.done(local - z.offset), true
	}
	holds := func(offset int64) bool {
		_, o := time.UnixMilli(local - offset).In(z.zone).Zone()
		return int64(o)*1000 == offset
	}
	first, second := local-z.offset, local-z.end
	a, b := holds(z.offset), holds(z.end)
	switch {
	case a && b:
		z.Ambiguous++
		early, late := min(first, second), max(first, second)
		if z.descending {
			if late < z.last {
				return z.done(late), true
			}
			return z.done(early), true
		}
		if early > z.last {
			return z.done(early), true
		}
		return z.done(late), true
	case a:
		return z.done(first), true
	case b:
		return z.done(second), true
	}
	return 0, false
}

func (z *zoneClock) done(t int64) int64 {
	if z.last != 0 && t != z.last {
		z.descending = t < z.last
	}
	z.last = t
	return t
}
