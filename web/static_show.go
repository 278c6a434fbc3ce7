package web

import (
	"mime"
	"net/http"
	"path"

	"lowtide/web/static"
)

// showStatic serves the style sheets and scripts. They hold nothing of a patient. Under the mark of their content a browser
// keeps them for a year; under an old one it gets what there is now, and asks again.
func (s *Server) showStatic(r *Request) (Answer, error) {
	name := r.PathValue("file")
	if _, err := static.FS.Open(name); err != nil {
		return nil, errMissing
	}
	return asset{name, r.PathValue("mark") == static.Mark}, nil
}

// asset is a file that comes with the program; kept tells that its address names its content.
type asset struct {
	name string
	kept bool
}

func (a asset) send(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Cache-Control", "no-cache")
	if a.kept {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if raw, err := static.FS.ReadFile(a.name); err == nil && len(raw) >= packLeast && takesGzip(r) { // nothing in it is anybody's
		w.Header().Set("Content-Type", mime.TypeByExtension(path.Ext(a.name)))
		pack(w, http.StatusOK, raw)
		return nil
	}
	http.ServeFileFS(w, r, static.FS, a.name)
	return nil
}
