package web

import (
	"encoding/json"
	"net/http"

	"lowtide/state"
)

// edgeAsked and edgeAnswer are what the page's script sends and gets: a rough line, and where the wound ends.
type edgeAsked struct {
	Line [][2]float64 `json:"line"`
}

type edgeAnswer struct {
	Edge    [][2]float64   `json:"edge"`
	Islands [][][2]float64 `json:"islands"`
	// SE is how far the colours leave the edge open: one standard error as a share of the area.
	SE float64 `json:"se"`
	// Words say what the nurse should know of it.
	Words string `json:"words"`
}

// pullEdge pulls a rough line to the edge of the wound. Nothing is kept.
func (s *Server) pullEdge(w http.ResponseWriter, r *http.Request) {
	o, photo, ok := s.openPhoto(w, r)
	if !ok {
		return
	}
	var in edgeAsked
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil || len(in.Line) > maxDrawnPoints || !onPhoto(in.Line, photo.Body) {
		s.sendJSON(w, r, http.StatusUnprocessableEntity, edgeAnswer{Words: "The line did not arrive whole. Draw it again."})
		return
	}
	raw, ok := s.photoBytes(w, r, o, photo)
	if !ok {
		return
	}
	part, words, refused := state.PullToEdge(raw, in.Line)
	if refused != nil {
		s.sendJSON(w, r, http.StatusUnprocessableEntity, edgeAnswer{Words: refused.Words + " " + refused.Remedy})
		return
	}
	s.sendJSON(w, r, http.StatusOK, edgeAnswer{Edge: part.Edge, Islands: part.Islands, SE: part.EdgeSE, Words: words})
}

func (s *Server) sendJSON(w http.ResponseWriter, r *http.Request, status int, v any) {
	raw, err := json.Marshal(v)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	w.Write(raw)
}
