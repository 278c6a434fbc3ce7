package web

import (
	"errors"
	"strconv"

	"lowtide/casebook"
	"lowtide/intake"
)

// move takes an entry to another patient's case: first it is written there, then it is marked here. Should the
// program end between the two, the entry counts in both cases, and the same step again finishes the move: the IDs
// follow from the entry and the two cases, not from the form.
func (s *Server) move(r *Request, x *correction, ps intake.Problems) (intake.Problems, written, error) {
	wrong := func(message, remedy string) (intake.Problems, written, error) {
		return intake.Join(ps, intake.Problems{{Pointer: "other_case", Code: intake.CodeCorrection, Message: message, Remedy: remedy}}), refused, nil
	}
	to := x.form.Get("other_case")
	if to == "" {
		return wrong("The other patient is missing.", "Choose the patient that the entry belongs to.")
	}
	there, thereRev, _, err := s.Caseload.Case(r.Context(), to, x.o.now)
	switch {
	case err != nil:
		return nil, refused, err
	case there == nil:
		return wrong("There is no such case.", "Choose the patient from the list.")
	case !s.allowed(r, to, thereRev.Person):
		return wrong("That patient is not on your list.", "Open that patient's case first, give your reason there, then move the entry.")
	case to == x.o.c.ID:
		return wrong("The other case is this case.", "Choose the patient that the entry belongs to.")
	case x.l.Entry.Came.Claimed():
		return wrong("This entry came by file, and nobody here has taken it over.", "Take it over in the log first: in the other case nobody could see where it comes from.")
	case ps.Err() != nil:
		return ps, refused, nil
	}
	if ps, did, err := s.moveIn(r, x, there); err != nil || did == refused {
		return ps, did, err
	}
	// Outlines go with their photo, and first: should the program end here, the photo still counts where it was, and the
	// same step again finishes the move.
	for _, l := range outlinesOn(x.o.c, x.l.Entry.ID) {
		along := *x
		along.l = l
		if ps, did, err := s.move(r, &along, nil); err != nil || did == refused {
			return ps, did, err
		}
	}
	n := 0
	for i := range x.o.c.Log {
		if l := &x.o.c.Log[i]; l.Entry.Corrects == x.l.Entry.ID && isMove(l, "moved out") {
			n++
		}
	}
	x.id = shapedID(x.l.Entry.Recorded, "moved out|"+x.l.Entry.ID+"|"+to+"|"+strconv.Itoa(n))
	e := s.corrects(r, x.id, x.o.c.ID, x.l.Entry.ID, x.reason, casebook.EntryCorrected{Action: "moved out", OtherCase: to})
	found, did, err := s.write(r.Context(), x.o.c.ID, []draft{{entry: e, form: x.form}}, nil, nil)
	if did == other {
		did = before // the same move, written with another reason by somebody else at the same time
	}
	return found, did, err
}

// outlinesOn lists the outlines in force that were drawn on a photo.
func outlinesOn(c *casebook.Case, photo string) (out []*casebook.Line) {
	for i := range c.Log {
		if b, ok := c.Log[i].Now.(casebook.OutlineTraced); ok && b.Photo == photo {
			out = append(out, &c.Log[i])
		}
	}
	return out
}

func isMove(l *casebook.Line, action string) bool {
	b, ok := l.Entry.Body.(casebook.EntryCorrected)
	return ok && b.Action == action
}

// moveIn writes the entry, as it counts now, into the other case, unless it counts there already.
func (s *Server) moveIn(r *Request, x *correction, there *casebook.Case) (intake.Problems, written, error) {
	n := 0
	for i := range there.Log {
		l := &there.Log[i]
		b, ok := l.Entry.Body.(casebook.EntryCorrected)
		if !ok || b.Action != "moved in" || b.Original == nil || b.Original.ID != x.l.Entry.ID {
			continue
		}
		if l.State == casebook.MovedIn || l.State == casebook.Replaced {
			return nil, before, nil
		}
		n++
	}
	original := x.l.Entry
	original.Body, original.At = x.l.Now, x.l.At
	id := shapedID(original.Recorded, "moved in|"+original.ID+"|"+there.ID+"|"+strconv.Itoa(n))
	e := s.corrects(r, id, there.ID, "", x.reason, casebook.EntryCorrected{Action: "moved in", OtherCase: x.o.c.ID, Original: &original})
	e.Blobs = original.Blobs
	if known, _, err := s.Caseload.Book.Entries(r.Context(), there.ID); err != nil {
		return nil, refused, err
	} else if intake.CheckEntries(known, []casebook.Entry{e}, s.Now()).Err() == nil {
		// A photo is kept again under the other case's key: erasing one case leaves the other its photo.
		if e.Blobs, err = s.copyBlobs(r, x.o.c.ID, there.ID, original.Blobs); err != nil {
			return nil, refused, err
		}
	}
	ps, did, err := s.write(r.Context(), there.ID, []draft{{entry: e, form: x.form}}, nil, nil)
	for i := range ps {
		ps[i].Pointer = "other_case"
		ps[i].Message = "In the other case: " + ps[i].Message
	}
	return ps, did, err
}

// copyBlobs keeps photos and logs of one case in another as well and returns their new hashes.
func (s *Server) copyBlobs(r *Request, from, to string, hashes []string) (out []string, err error) {
	for _, hash := range hashes {
		content, err := s.Caseload.Book.Blob(r.Context(), from, hash)
		if errors.Is(err, casebook.ErrNotBrought) {
			// What is not here cannot be copied; it is awaited there too, under the same name.
			if err := s.Caseload.Book.Await(r.Context(), to, hash, s.Now(), s.author(r)); err != nil {
				return nil, err
			}
			out = append(out, hash)
			continue
		}
		if err != nil {
			return nil, err
		}
		again, err := s.Caseload.Book.PutBlob(r.Context(), to, content)
		if err != nil {
			return nil, err
		}
		out = append(out, again)
	}
	return out, nil
}
