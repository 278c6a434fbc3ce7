// Package casegen invents cases: plausible ones with everything in them that makes a case hard. Each seed is one case
// with several wounds and pumps, every kind of entry, corrections, contradictions, missing inputs, logs, calls and
// ended therapy. Nobody in them exists.
//
// What a body can hold comes from the tags of its fields, as package intake reads them: a new kind or field is filled
// without a change here. Values that must agree with each other (the pieces that go in and come out, a canister that
// fills, a wound that shrinks) follow a course that is drawn for each case, and leave it now and then.
package casegen

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
)

// Made is an invented case. Entries are in no order.
type Made struct {
	ID      string
	Entries []casebook.Entry
	// Blobs are the pump logs and photos that entries name, by their hash.
	Blobs map[string][]byte
}

// Case invents the case of a seed as of now: no entry happened later. Two calls give the same case. Nearly every entry
// passes package intake; [Made.File] leaves out those that do not.
func Case(seed uint64, now time.Time) Made {
	m := newMaker(seed, now)
	m.tell()
	return m.made()
}

// Hostile is [Case] with what no form lets through and another store may still hand over: an ID with two contents, an
// entry twice, kinds and versions that nobody knows, times in the future, numbers out of range, corrections of
// themselves and of each other.
func Hostile(seed uint64, now time.Time) Made {
	m := newMaker(seed, now)
	m.tell()
	m.spoil()
	return m.made()
}

func (m *maker) made() Made {
	m.rnd.Shuffle(len(m.entries), func(i, j int) { m.entries[i], m.entries[j] = m.entries[j], m.entries[i] })
	return Made{m.caseID, m.entries, m.blobs}
}

// Fold folds the case as of an instant, with the way to its blobs. The zero instant folds all entries.
func (c Made) Fold(until time.Time) *casebook.Case {
	k := casebook.FoldAt(c.ID, c.Entries, until)
	k.Blob = c.blob
	return k
}

func (c Made) blob(hash string) ([]byte, error) {
	if b, ok := c.Blobs[hash]; ok {
		return b, nil
	}
	return nil, casebook.ErrNotBrought
}

// File is the case as a file that package intake accepts at the time now, and the problems of the entries that were left
// out for it.
func (c Made) File(now time.Time) (intake.CaseFile, intake.Problems) {
	file := intake.CaseFile{Format: intake.Format, Version: intake.FormatVersion, Case: c.ID, Entries: c.Entries}
	var refused intake.Problems
	for {
		bad := map[string]bool{}
		for _, p := range intake.CheckEntries(nil, file.Entries, now) {
			if !p.Notice {
				bad[p.Entry] = true
				refused = append(refused, p)
			}
		}
		if len(bad) == 0 {
			return file, refused
		}
		// What is left may name an entry that went: check again.
		kept := slices.Clone(file.Entries)
		file.Entries = slices.DeleteFunc(kept, func(e casebook.Entry) bool { return bad[e.ID] })
	}
}

const day = 24 * time.Hour

// maker invents one case, in the order of time.
type maker struct {
	src     *rand.ChaCha8
	rnd     *rand.Rand
	words   *vocabulary
	now     time.Time
	start   time.Time
	at      time.Time // of the entry in the making
	zone    *time.Location
	caseID  string
	entries []casebook.Entry
	blobs   map[string][]byte

	// full is the chance that a field that may be empty is filled, odd that a value leaves its course.
	full, odd float64
	wounds    []wound
	pumps     []pump
	photos    []photo
	outlines  []string
	calls     []string
	// every is the usual time between two changes of dressing; ordered the suction.
	every   time.Duration
	ordered float64
	mL      float64 // output of a day
	told    float64 // the size of canister that was written last, 0 for none
}

// wound is the course of a wound: its size at the start and what is left of it after a week.
type wound struct {
	name                 string
	length, width, depth float64
	week                 float64
	in                   []casebook.Pieces
}

type pump struct {
	name     string
	size, mL float64
	read     time.Time
	returned bool
}

type photo struct {
	id, wound     string
	width, height int
}

func newMaker(seed uint64, now time.Time) *maker {
	var key [32]byte
	for i := range 8 {
		key[i] = byte(seed >> (8 * i))
	}
	copy(key[8:], "lowtide casegen")
	m := &maker{src: rand.NewChaCha8(key), words: known(), now: now, blobs: map[string][]byte{}}
	m.rnd = rand.New(m.src)
	m.zone = zones()[m.rnd.IntN(len(zoneNames))]
	m.now = now.In(m.zone)
	m.start = m.now.Add(-time.Duration(math.Exp(m.between(math.Log(0.5), math.Log(150))) * float64(day))).Truncate(time.Minute)
	m.at = m.start
	m.full = pick(m.rnd, 0.1, 0.35, 0.6, 0.9)
	m.odd = pick(m.rnd, 0.02, 0.1, 0.3)
	m.every = time.Duration(pick(m.rnd, 24, 48, 60, 72, 96)) * time.Hour
	m.ordered = pick(m.rnd, 75.0, 80, 100, 125, 125, 125, 150)
	m.mL = math.Exp(m.between(math.Log(10), math.Log(900)))
	m.caseID = m.newID(m.start)
	return m
}

func pick[T any](rnd *rand.Rand, from ...T) T { return from[rnd.IntN(len(from))] }

func (m *maker) chance(p float64) bool          { return m.rnd.Float64() < p }
func (m *maker) between(lo, hi float64) float64 { return lo + (hi-lo)*m.rnd.Float64() }

func (m *maker) newID(at time.Time) string {
	id, err := casebook.NewID(at, m.src)
	if err != nil {
		panic("casegen: " + err.Error()) // a seeded source never ends
	}
	return id
}

// add writes an entry that happened at m.at.
func (m *maker) add(b casebook.Body) *casebook.Entry {
	e := casebook.Entry{ID: m.newID(m.at), Case: m.caseID, Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: m.at, Recorded: m.at, Author: m.words.nurses[m.rnd.IntN(len(m.words.nurses))], Body: b}
	if m.chance(0.3) {
		e.At = e.At.UTC()
	}
	if m.chance(0.8) {
		late := time.Duration(m.rnd.IntN(9)) * time.Minute
		if m.chance(0.05) {
			late = time.Duration(m.rnd.IntN(100)) * time.Hour
		}
		e.Recorded = m.at.Add(late)
		if e.Recorded.After(m.now) {
			e.Recorded = m.now
		}
	}
	m.entries = append(m.entries, e)
	return &m.entries[len(m.entries)-1]
}

// event is something that will happen.
type event struct {
	at   time.Time
	kind casebook.Kind
}

// tell draws what happens, and writes it in the order of time.
func (m *maker) tell() {
	var plan []event
	at := func(t time.Time, k casebook.Kind) {
		if !t.After(m.now) && !t.Before(m.start) {
			plan = append(plan, event{t, k})
		}
	}
	soon := func(k casebook.Kind, chance float64) {
		if m.chance(chance) {
			at(m.start.Add(time.Duration(m.rnd.IntN(180))*time.Minute), k)
		}
	}
	for range pick(m.rnd, 1, 1, 1, 2, 2, 3, 4) {
		at(m.start, casebook.KindWoundFound)
	}
	soon(casebook.KindPersonRegistered, 0.97)
	soon(casebook.KindScreeningDone, 0.9)
	soon(casebook.KindOrderWritten, 0.93)
	for range pick(m.rnd, 0, 1, 1, 1, 1, 1, 2, 3) {
		soon(casebook.KindPumpAssigned, 1)
	}
	soon(casebook.KindTeachingGiven, 0.6)
	soon(casebook.KindPayerNoted, 0.3)
	// Visits, until somebody stays away.
	last := m.now
	if m.chance(0.3) {
		last = m.start.Add(time.Duration(m.rnd.Float64() * float64(m.now.Sub(m.start))))
	}
	measured := m.start.Add(-7 * day)
	for t := m.start.Add(3 * time.Hour); !t.After(last); t = t.Add(time.Duration(m.between(0.7, 1.25) * float64(m.every))).Truncate(time.Minute) {
		at(t, casebook.KindDressingChanged)
		if t.Sub(measured) >= 6*day && m.chance(0.85) {
			for range max(1, len(plan)%3) {
				at(t, casebook.KindWoundMeasured)
			}
			measured = t
		}
		if m.chance(0.5) {
			at(t.Add(time.Duration(m.rnd.IntN(40))*time.Hour), casebook.KindCanisterRead)
		}
		if m.chance(0.15) {
			at(t.Add(20*time.Minute), casebook.KindReviewSigned)
		}
	}
	if m.chance(0.07) && m.now.Sub(m.start) > 2*day {
		at(m.now.Add(-time.Duration(m.between(0.2, 3)*float64(day))), casebook.KindLogImported)
	}
	// Anything, at any time, and half of it in the last three days.
	for range m.rnd.IntN(14) {
		span := m.now.Sub(m.start)
		if m.chance(0.5) {
			span = min(span, 3*day)
		}
		t := m.now.Add(-time.Duration(m.rnd.Float64() * float64(span)))
		if m.chance(0.8) {
			t = t.Truncate(time.Minute)
		}
		at(t, casebook.Kinds()[m.rnd.IntN(len(casebook.Kinds()))])
	}
	if m.chance(0.12) {
		at(m.now.Add(-time.Duration(m.rnd.Float64()*float64(min(m.now.Sub(m.start), 10*day)))), casebook.KindTherapyEnded)
	}
	slices.SortStableFunc(plan, func(a, b event) int { return a.at.Compare(b.at) })
	for _, e := range plan {
		m.at = e.at
		m.write(e.kind)
	}
}

// write writes an entry of the kind as of m.at.
func (m *maker) write(kind casebook.Kind) {
	switch kind {
	case casebook.KindEntryCorrected:
		m.correct()
		return
	case casebook.KindOutlineTraced:
		if len(m.photos) == 0 {
			m.write(casebook.KindPhotoTaken)
		}
	}
	if kind != casebook.KindPersonRegistered && kind != casebook.KindWoundFound && len(m.wounds) == 0 {
		return
	}
	m.note(m.add(m.body(kind)))
}

// note remembers of an entry what later ones need.
func (m *maker) note(e *casebook.Entry) {
	switch b := e.Body.(type) {
	case casebook.PhotoTaken:
		e.Blobs = []string{m.keep(onePixel())}
		m.photos = append(m.photos, photo{e.ID, b.Wound, b.WidthPx, b.HeightPx})
	case casebook.OutlineTraced:
		m.outlines = append(m.outlines, e.ID)
	case casebook.CallTaken:
		m.calls = append(m.calls, b.Call)
	case casebook.LogImported:
		if m.chance(0.4) { // of the others the readings were not brought along
			e.Blobs = []string{m.keep(m.log(&b))}
			e.Body = b
		}
	}
}

func (m *maker) keep(content []byte) string {
	hash := casebook.BlobHash(content)
	m.blobs[hash] = content
	return hash
}
