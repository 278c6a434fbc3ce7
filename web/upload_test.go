package web

import (
	"bytes"
	"errors"
	"io"
	"mime/multipart"
	"net/http/httptest"
	"strconv"
	"testing"
)

// A form with a file gives its fields and its files in their order, cuts long fields, and ends with nil.
func TestUploadParts(t *testing.T) {
	open := func(most int, write func(*multipart.Writer)) *upload {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		write(m)
		m.Close()
		r := &Request{Request: httptest.NewRequest("POST", "/x", &b)}
		r.Header.Set("Content-Type", m.FormDataContentType())
		if err := (&Server{}).take(httptest.NewRecorder(), r, Takes{as: asFile, parts: most, field: 4}); err != nil {
			t.Fatal(err)
		}
		return r.upload
	}
	u := open(9, func(m *multipart.Writer) {
		m.WriteField("a", "123456")
		f, _ := m.CreateFormFile("file", "n.csv")
		io.WriteString(f, "the file itself is not cut")
		m.WriteField("b", "2")
	})
	part, err := u.file("file")
	if err != nil || part == nil || part.FileName() != "n.csv" || u.fields.Get("a") != "1234" || u.fields.Has("b") {
		t.Fatalf("%v %v %v", part, err, u.fields)
	}
	if raw, err := io.ReadAll(part); err != nil || string(raw) != "the file itself is not cut" {
		t.Fatalf("%q %v", raw, err)
	}
	if part, err = u.file("file"); part != nil || err != nil || u.fields.Get("b") != "2" {
		t.Fatalf("%v %v %v", part, err, u.fields)
	}
	u = open(5, func(m *multipart.Writer) {
		for i := range 6 {
			m.WriteField("f"+strconv.Itoa(i), "")
		}
	})
	if part, err = u.file("file"); part != nil || !errors.Is(err, errManyParts) || len(u.fields) != 5 {
		t.Fatalf("%v %v %v", part, err, u.fields)
	}
}
