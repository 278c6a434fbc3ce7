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
func (s *Server) pullEdge(r *Request) (Answer, error) {
	photo, err := openPhoto(r)
	if err != nil {
		return nil, err
	}
	var in edgeAsked
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil || len(in.Line) > maxDrawnPoints || !onPhoto(in.Line, photo.Body) {
		return sayJSON(http.StatusUnprocessableEntity, edgeAnswer{Words: "The line did not arrive whole. Draw it again."})
	}
	raw, err := s.Caseload.Book.Blob(r.Context(), r.c.ID, photo.Blob)
	if err != nil {
		return nil, err
	}
	if !state.IsWhole(raw, photo.Body) {
		return nil, errSmallPhoto
	}
	part, words, refused := state.PullToEdge(raw, in.Line)
	if refused != nil {
		return sayJSON(http.StatusUnprocessableEntity, edgeAnswer{Words: refused.Words + " " + refused.Remedy})
	}
	return sayJSON(http.StatusOK, edgeAnswer{Edge: part.Edge, Islands: part.Islands, SE: part.EdgeSE, Words: words})
}
