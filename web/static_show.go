package web

import (
	"embed"
	"net/http"
)

//go:embed static
var static embed.FS

// showStatic serves the style sheet and the script. They hold nothing of a patient and may be kept by the browser
// for an hour.
func (s *Server) showStatic(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	if _, err := static.Open("static/" + name); err != nil {
		s.missing(w, r)
		return
	}
	w.Header().Set("Cache-Control", "private, max-age=3600")
	http.ServeFileFS(w, r, static, "static/"+name)
}
