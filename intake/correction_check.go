package intake

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"

	"lowtide/casebook"
)

// correction checks an entry.corrected against what it corrects.
func (c *checker) correction(i int, e casebook.Entry) {
	k, ok := e.Body.(casebook.EntryCorrected)
	if !ok {
		if _, unknown := e.Body.(casebook.Unknown); unknown {
			return
		}
		if e.Corrects != "" {
			c.at(i, "/corrects", CodeMeaningless, e.Corrects, fmt.Sprintf("Only an entry.corrected corrects another entry; this is a %s.", e.Kind), "Remove it, or write an entry.corrected.")
		}
		if e.Reason != "" {
			c.at(i, "/reason", CodeMeaningless, e.Reason, fmt.Sprintf("Only an entry.corrected has a reason; this is a %s.", e.Kind), "Remove it, or put it into the note.")
		}
		return
	}
	if strings.TrimSpace(e.Reason) == "" {
		c.at(i, "/reason", CodeMissing, "", "A correction needs its reason.", `Write "reason": readers see it beside both versions.`)
	}
	if k.OtherCase != "" && k.OtherCase == e.Case {
		c.at(i, "/body/other_case", CodeCorrection, k.OtherCase, "The other case is this case.", "Name the case that the entry moves to or comes from.")
	}
	if k.Action == "moved in" {
		c.movedIn(i, e, k)
		return
	}
	target, ok := c.byID[e.Corrects]
	switch {
	case e.Corrects == "":
		if n := c.node(i, "/corrects"); n == nil || !c.out.bad[i] {
			c.at(i, "/corrects", CodeMissing, "", "A correction names the entry that it corrects.", `Write "corrects" with that entry's id.`)
		}
	case e.Corrects == e.ID:
		c.at(i, "/corrects", CodeCorrection, e.Corrects, "The correction names itself.", "Name the entry that is wrong.")
	case !ok && !c.incomplete:
		c.at(i, "/corrects", CodeCorrection, e.Corrects, "The case has no entry with this ID.", "Check the id; the corrected entry must be in the file or already kept.")
	case ok:
		c.replacement(i, e, k, target)
	}
}

// movedIn checks an entry that came from another case.
func (c *checker) movedIn(i int, e casebook.Entry, k casebook.EntryCorrected) {
	o := k.Original
	if o == nil {
		return
	}
	if k.OtherCase != "" && o.Case != "" && o.Case != k.OtherCase {
		c.at(i, "/body/original/case", CodeCorrection, o.Case, fmt.Sprintf("The moved entry belongs to case %q, and the other case is %q.", o.Case, k.OtherCase), "Copy the entry as the other case has it, and name that case.")
	}
	if e.Corrects != "" && o.ID != "" && e.Corrects != o.ID {
		c.at(i, "/corrects", CodeCorrection, e.Corrects, "The corrected entry is not the one that moved in.", "Write the moved entry's id, or leave it out.")
	}
	if o.Body == nil {
		return
	}
	c.future(i, "/body/original/at", "When it happened", o.At)
	checkBody(o.Body, func(pointer string, code Code, value, message, remedy string) {
		c.at(i, "/body/original/body"+pointer, code, value, message, remedy)
	})
	c.content(i, *o, "/body/original/body")
}

// replacement checks the replacing body as a body of the corrected entry's kind, at the replacing time.
func (c *checker) replacement(i int, e casebook.Entry, k casebook.EntryCorrected, target casebook.Entry) {
	if k.Action != "replace" {
		return
	}
	// What moved in is corrected as what it is, not as the move.
	if in, ok := target.Body.(casebook.EntryCorrected); ok && in.Action == "moved in" && in.Original != nil {
		id := target.ID
		target = *in.Original
		target.ID = id
	}
	as := target
	if t, err := readTime(k.At); err == nil {
		as.At = t
		c.future(i, "/body/at", "Corrected time", t)
	}
	if k.Body != nil {
		into := casebook.NewBody(target.Kind)
		if _, unknown := target.Body.(casebook.Unknown); unknown || into == nil {
			return // this program does not know what may be written there
		}
		inner := newCollector(c.out.max)
		d := &decoder{out: inner}
		d.read(k.Body, into)
		for _, p := range inner.list {
			if p.Code == CodeUnknownField || p.Code == CodeMissing {
				p.Remedy += fmt.Sprintf(" The corrected entry is a %s.", target.Kind)
			}
			c.at(i, "/body/body"+p.Pointer, p.Code, p.Value, p.Message, p.Remedy)
		}
		as.Body = reflect.ValueOf(into).Elem().Interface().(casebook.Body)
		checkBody(as.Body, func(pointer string, code Code, value, message, remedy string) {
			c.at(i, "/body/body"+pointer, code, value, message, remedy)
		})
	}
	if !c.dormant[e.ID] {
		c.content(i, as, "/body/body")
	}
}

// replaced is what a replacing correction says in place of its target; nil when it is not one.
func (c *checker) replaced(e casebook.Entry, k casebook.EntryCorrected) (casebook.Body, time.Time) {
	target, ok := c.byID[e.Corrects]
	if k.Action != "replace" || !ok {
		return nil, time.Time{}
	}
	at, body := target.At, target.Body
	if t, err := readTime(k.At); err == nil {
		at = t
	}
	if into := casebook.NewBody(target.Kind); k.Body != nil && into != nil && json.Unmarshal(k.Body, into) == nil {
		body = reflect.ValueOf(into).Elem().Interface().(casebook.Body)
	}
	return body, at
}

// node finds a field of entry i in the file, if there is a file.
func (c *checker) node(i int, pointer string) *node {
	if c.tree == nil {
		return nil
	}
	list := c.tree.get("entries")
	if list == nil || i >= len(list.items) {
		return nil
	}
	return list.items[i].get(strings.TrimPrefix(pointer, "/"))
}
