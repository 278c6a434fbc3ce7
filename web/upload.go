package web

import (
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"time"
)

// upload is a form with a file, read part by part in memory, so that no part of a patient's file is left on a disk.
type upload struct {
	fields url.Values
	parts  *multipart.Reader
	// part is the name of the part that holds the file.
	part string
	// left is how many more parts are read; fieldBytes is how much of each field is.
	left       int
	fieldBytes int64
}

var errManyParts = errors.New("the form has more parts than any form of this program")

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
			u.part = name
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

// fileTime is how long a photo or another file may take to arrive over a poor line: 17 MB at 100 kB/s.
const fileTime = 170 * time.Second

// allowLong gives a file the time to arrive. The server's own deadlines are for forms of text; a writer that has none
// needs no longer one.
func (s *Server) allowLong(w http.ResponseWriter) {
	if s.Line == nil {
		return
	}
	line, now := http.NewResponseController(w), s.Line()
	line.SetReadDeadline(now.Add(fileTime))
	line.SetWriteDeadline(now.Add(fileTime + 10*time.Second))
}
