package review_test

import (
	"fmt"
	"sort"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// A story is one finding told as a nurse meets it: a tidy case, what else was written down, the finding that
// shows, what she does about it, and the review after that.
type story struct {
	rule  string
	level rule.Level
	state rule.State // rule.Yes when empty
	wound string
	// says are parts of the headline; a headline with a number of the patient must be tested for it.
	says []string
	// advises are parts of the next step that name what is the patient's own.
	advises []string
	// without leaves kinds of entries out of the tidy case.
	without []casebook.Kind
	// tell are the entries that bring the finding, act those of doing what it asks for.
	tell, act []step
	// wait is how long after noon the first review is made.
	wait time.Duration
}

// step is one entry of a story. Times are in hours from noon; minus is before.
type step struct {
	atH  float64
	body casebook.Body
	// name lets a later step correct this entry; corrects names the entry that this one corrects.
	name, corrects, reason string
	// writtenH is when it was written down, if that was not at once.
	writtenH float64
	// blob is the content of a blob that the entry names.
	blob []byte
	// photo is the name of the photo that an outline was drawn on.
	photo string
	// twice writes the entry a second time with this body: the same ID from two devices.
	twice casebook.Body
}

// at is an entry of that hour; a visit plans the next one after itself.
func at(h float64, b casebook.Body) step {
	if d, ok := b.(casebook.DressingChanged); ok && d.NextVisit != nil && !d.NextVisit.After(noonPlus(h)) {
		d.NextVisit = when(h + 54)
		b = d
	}
	return step{atH: h, body: b}
}

// called gives the entry a name.
func (s step) called(name string) step { s.name = name; return s }

// withdraws and replaces correct an entry by its name.
func withdraws(h float64, name string) step {
	return step{atH: h, body: casebook.EntryCorrected{Action: "withdraw"}, corrects: name, reason: "written by mistake"}
}

func replaces(h float64, name string, b casebook.Body) step {
	return step{atH: h, body: casebook.EntryCorrected{Action: "replace", Body: mustJSON(b)}, corrects: name, reason: "read again"}
}

func retimes(h float64, name string, toH float64) step {
	return step{atH: h, body: casebook.EntryCorrected{Action: "replace", At: noonPlus(toH).Format(time.RFC3339)}, corrects: name, reason: "wrong time typed"}
}

// noon is a Wednesday, in winter time.
var noon = time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)

func noonPlus(h float64) time.Time { return noon.Add(time.Duration(h * float64(time.Hour))) }

// storyID is the ID of the entry at a place of the story.
func storyID(i int) string { return fmt.Sprintf("%08x-0000-7000-8000-%012x", i, i) }

// entries writes the steps as entries of one case. IDs follow from the place in the list.
func entries(steps ...step) []casebook.Entry {
	var out []casebook.Entry
	names := map[string]string{}
	for i, s := range steps {
		when := noonPlus(s.atH)
		e := casebook.Entry{ID: storyID(i), Case: "tidy", Kind: s.body.Kind(), Version: casebook.Version(s.body.Kind()),
			At: when, Recorded: when.Add(time.Minute), Author: "M. Thorne", Body: s.body, Corrects: names[s.corrects], Reason: s.reason}
		if b, ok := e.Body.(casebook.OutlineTraced); ok {
			b.Photo = names[s.photo]
			e.Body = b
		}
		if _, ok := e.Body.(casebook.PhotoTaken); ok {
			e.Blobs = []string{casebook.BlobHash([]byte(e.ID))}
		}
		if e.Version == 0 {
			e.Version = 1
		}
		if s.writtenH != 0 {
			e.Recorded = noonPlus(s.writtenH)
		}
		if s.blob != nil {
			e.Blobs = []string{keepBlob(s.blob)}
		}
		if s.name != "" {
			names[s.name] = e.ID
		}
		if s.corrects != "" && e.Corrects == "" {
			panic("story: no entry is called " + s.corrects)
		}
		out = append(out, e)
		if s.twice != nil {
			e.Body = s.twice
			out = append(out, e)
		}
	}
	return out
}

// tidy is a therapy of five days about which there is nothing to say at noon.
func tidy() []step {
	return []step{
		at(-125, person(nil)),
		at(-124.5, wound("A", nil)).called("wound"),
		at(-124, screened(nil)),
		at(-123, order(nil)).called("order"),
		at(-122, casebook.PumpAssigned{Pump: "P-11", Class: "portable", CanisterML: num(300), Wounds: []string{"A"}}).called("pump"),
		at(-121, change(func(d *casebook.DressingChanged) {
			d.Wounds[0].Out, d.Wounds[0].NoneOut = nil, true
			d.Canister.VolumeML = num(0)
			d.NextVisit = when(-73)
		})),
		at(-120.9, measured(7, 3, 2.4, nil)),
		at(-120.5, casebook.TeachingGiven{To: "patient", Topics: []string{"alarms", "leak", "canister", "battery", "bleeding", "infection", "off-time", "whom to call"}, Understood: yes}),
		at(-73, change(func(d *casebook.DressingChanged) { d.Canister.VolumeML = num(100); d.NextVisit = when(-24) })),
		at(-24, change(func(d *casebook.DressingChanged) { d.Canister.VolumeML, d.Canister.Changed = num(190), yes })).called("last"),
		at(-23.9, measured(6.8, 2.9, 2.2, nil)).called("measured"),
		at(-23.5, signed()),
	}
}

func (s story) key() string { return s.rule + "/" + string(s.want()) }

func (s story) want() rule.State {
	if s.state == "" {
		return rule.Yes
	}
	return s.state
}

// base is the tidy case without what the story leaves out.
func (s story) base() []step {
	var out []step
	for _, x := range tidy() {
		keep := true
		for _, k := range s.without {
			keep = keep && x.body.Kind() != k
		}
		if keep {
			out = append(out, x)
		}
	}
	return out
}

func find(r *review.Review, ruleID, wound string) *review.Finding {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule == ruleID && f.Wound == wound {
			return f
		}
	}
	return nil
}

func join(lists ...[]step) []step {
	var out []step
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

// TestTidy: the case that all stories start from has no finding at noon, so what a story shows is its own.
func TestTidy(t *testing.T) {
	r := review.Of(state.Of(casebook.Fold("tidy", entries(tidy()...)), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	for _, f := range r.Findings {
		t.Errorf("%s %s: %s", f.Rule, f.Wound, f.Headline)
	}
}

// TestStories: every story's finding shows with its level, wound and numbers; is gone after its advice was
// followed; and would still be there at that later time if nobody had followed it.
func TestStories(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	byID := map[string]*rule.Rule{}
	for _, r := range rules.Rules() {
		byID[r.ID] = r
	}
	of := func(at time.Time, steps []step) *review.Review {
		return review.Of(state.Of(withBlobs(casebook.Fold("tidy", entries(steps...))), rules, eq, nil, at), rules)
	}
	for _, s := range stories {
		t.Run(s.key(), func(t *testing.T) {
			r := byID[s.rule]
			if r == nil {
				t.Fatal("the story names no rule")
			}
			before := noon.Add(s.wait)
			if len(s.without) == 0 && s.wait == 0 {
				if f := find(of(before, s.base()), s.rule, s.wound); f != nil {
					t.Fatalf("shows without the story: %s", f.Headline)
				}
			}
			told := join(s.base(), s.tell)
			f := find(of(before, told), s.rule, s.wound)
			if f == nil {
				t.Fatalf("does not show; these do: %s", keys(of(before, told)))
			}
			if f.Level != s.level || f.State != s.want() {
				t.Errorf("is %s, %s; want %s, %s", f.Level, f.State, s.level, s.want())
			}
			text := r.Headline
			if f.State == rule.CannotTell {
				text = r.CannotTell
			}
			if strings.Contains(text, "{") && len(s.says) == 0 {
				t.Errorf("the headline has a number that the story does not test: %s", f.Headline)
			}
			for _, part := range s.says {
				if !strings.Contains(f.Headline, part) {
					t.Errorf("headline %q does not say %q", f.Headline, part)
				}
			}
			for _, part := range s.advises {
				if !strings.Contains(f.Do, part) {
					t.Errorf("the next step %q does not say %q", f.Do, part)
				}
			}
			if f.Do == "" || f.Clears == "" {
				t.Error("no next step, or nothing that clears it")
			}
			if len(s.act) == 0 {
				t.Fatal("nobody acts")
			}
			last := s.act[0].atH
			for _, x := range s.act {
				last = max(last, x.atH, x.writtenH)
				if written := max(x.atH, x.writtenH); !noonPlus(written).After(before) && x.corrects == "" {
					t.Errorf("acted at %g h, before the finding showed", x.atH)
				}
			}
			after := noonPlus(last).Add(2 * time.Minute)
			if find(of(after, told), s.rule, s.wound) == nil {
				t.Error("goes away by itself: the story would pass if nobody acted")
			}
			if f := find(of(after, join(told, s.act)), s.rule, s.wound); f != nil {
				t.Errorf("still shows after acting (%s): %s", f.State, f.Headline)
			}
		})
	}
}

// TestEveryRuleHasAStory: a story for every rule, and one for every "cannot tell" that a case can bring about.
func TestEveryRuleHasAStory(t *testing.T) {
	told := map[string]bool{}
	for _, s := range stories {
		if told[s.key()] {
			t.Errorf("two stories of %s", s.key())
		}
		told[s.key()] = true
	}
	for _, s := range storeStories {
		told[s.rule+"/"+string(s.want())] = true
	}
	var missing []string
	for _, r := range builtin(t).Rules() {
		if r.Withdrawn != nil {
			continue
		}
		if _, local := onlyLocal[r.ID]; local {
			continue
		}
		if !told[r.ID+"/"+string(rule.Yes)] {
			missing = append(missing, r.ID)
		}
		key := r.ID + "/" + string(rule.CannotTell)
		_, excused := neverUnknown[r.ID]
		switch {
		case r.UnknownLevel == "" && excused:
			t.Errorf("%s is listed as never unknown and has no such state", r.ID)
		case r.UnknownLevel != "" && !told[key] && !excused:
			missing = append(missing, key)
		case told[key] && excused:
			t.Errorf("%s has a story and is listed as never unknown", key)
		}
	}
	sort.Strings(missing)
	if len(missing) > 0 {
		t.Errorf("%d without a story: %s", len(missing), strings.Join(missing, " "))
	}
}

func keys(r *review.Review) string {
	var out []string
	for _, f := range r.Findings {
		out = append(out, f.Key()+" "+string(f.State))
	}
	return strings.Join(out, ", ")
}

// stories is filled by the files story_<area>_test.go.
var stories []story

func storyOf(list ...story) { stories = append(stories, list...) }

// refused lists the stories whose entries intake refuses, and how they come to be in a case all the same.
var refused = map[string]string{
	"REC-CONFLICT-01/yes": "two devices wrote the same ID and their entries were merged; files and stores refuse it",
}

// TestStoriesCanBeRecorded: the entries of every story, and of acting on it, pass the checks that files and forms
// make; otherwise nobody could follow the advice.
func TestStoriesCanBeRecorded(t *testing.T) {
	for _, s := range stories {
		var problems []string
		for _, p := range intake.CheckEntries(nil, entries(join(s.base(), s.tell, s.act)...), noon.AddDate(1, 0, 0)) {
			if !p.Notice {
				problems = append(problems, p.String())
			}
		}
		if _, known := refused[s.key()]; known != (len(problems) > 0) {
			t.Errorf("%s: listed as refused: %v; problems: %s", s.key(), known, strings.Join(problems, "\n"))
		}
	}
}
