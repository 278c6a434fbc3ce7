package web

import (
	"embed"
	"net/http"
)

//go:embed static
var static embed.FS

// showStatic serves the style sheet and the script. They hold nothing of a patient and may be kept by the browser
// for an hour.
func (s *Server) showStatic(r *Request) (Answer, error) {
	name := r.PathValue("file")
	if _, err := static.Open("static/" + name); err != nil {
		return nil, errMissing
	}
	return asset("static/" + name), nil
}

// asset is a file that comes with the program.
type asset string

func (name asset) send(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Cache-Control", "private, max-age=3600")
	http.ServeFileFS(w, r, static, string(name))
	return nil
}
