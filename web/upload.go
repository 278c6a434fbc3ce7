package web

import (
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
)

// upload is a form with a file, read part by part in memory, so that no part of a patient's file is left on a disk.
type upload struct {
	fields url.Values
	parts  *multipart.Reader
	// left is how many more parts are read; fieldBytes is how much of each field is.
	left       int
	fieldBytes int64
}

var errManyParts = errors.New("the form has more parts than any form of this program")

// openUpload begins to read a form with a file; ok is false when it is none and the answer was given, with what to do.
func (s *Server) openUpload(w http.ResponseWriter, r *http.Request, remedy string, mostParts int, fieldBytes int64) (u *upload, ok bool) {
	allowLong(w)
	parts, err := r.MultipartReader()
	if err != nil {
		s.refuse(w, r, http.StatusUnsupportedMediaType, "That is not a form of Lowtide.", remedy)
		return nil, false
	}
	return &upload{fields: url.Values{}, parts: parts, left: mostParts, fieldBytes: fieldBytes}, true
}

// file reads fields up to the next part of the name and returns that part unread; nil at the end of the form.
func (u *upload) file(name string) (*multipart.Part, error) {
	for ; u.left > 0; u.left-- {
		part, err := u.parts.NextPart()
		if err == io.EOF {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		if part.FormName() == name {
			u.left--
			return part, nil
		}
		text, err := io.ReadAll(io.LimitReader(part, u.fieldBytes))
		if err != nil {
			return nil, err
		}
		u.fields.Add(part.FormName(), string(text))
	}
	return nil, errManyParts
}

// overLimit answers when a form was larger than its route takes.
func (s *Server) overLimit(w http.ResponseWriter, r *http.Request, err error) bool {
	var big *http.MaxBytesError
	if !errors.As(err, &big) {
		return false
	}
	s.tooBig(w, r)
	return true
}
