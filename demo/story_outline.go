package demo

import (
	"embed"
	"encoding/json"
	"time"

	"lowtide/casebook"
)

// The photos are painted by demo/photo/gen: every wound and skin on them is invented. outlines.json holds what the program
// measures on them.
//
//go:embed photo/*.jpg photo/outlines.json
var photoFiles embed.FS

// photoBody is what outlines.json says of a photo.
type photoBody struct {
	Photo   casebook.PhotoTaken     `json:"photo"`
	Outline *casebook.OutlineTraced `json:"outline"`
}

var photoBodies = func() map[string]photoBody {
	out := map[string]photoBody{}
	raw, err := photoFiles.ReadFile("photo/outlines.json")
	if err == nil {
		err = json.Unmarshal(raw, &out)
	}
	if err != nil {
		panic("demo: " + err.Error()) // compiled in
	}
	return out
}()

// photo writes a painted photo into the story. Its blob is named by the hash of its plain bytes; Fill keeps it.
func (t *teller) photo(d time.Duration, name string) string {
	raw, err := photoFiles.ReadFile("photo/" + name + ".jpg")
	if err != nil {
		panic("demo: " + err.Error()) // a slip in a story
	}
	id := t.ago(d, photoBodies[name].Photo)
	hash := casebook.BlobHash(raw)
	t.entries[len(t.entries)-1].Blobs, t.blobs[hash] = []string{hash}, raw
	return id
}

// traced writes a painted photo and the outline that was confirmed on it a quarter of an hour later.
func (t *teller) traced(d time.Duration, name string) {
	id := t.photo(d, name)
	b := *photoBodies[name].Outline
	b.Photo = id
	t.ago(d-15*time.Minute, b)
}

// photos are what patients' stories go on with in pictures.
var photos = map[string]func(*teller){
	// The edge comes in all around but from two to four o'clock.
	"Wilfred Oakshott": func(t *teller) {
		t.traced(11*day, "edge-1")
		t.traced(51*hour, "edge-2")
	},
	// The first outline after sizes by ruler.
	"Aoife Gallagher": func(t *teller) { t.traced(57*hour, "first") },
	// A photo of last week, measured by ruler since, and a new one that nobody outlined.
	"Casimir Nowak": func(t *teller) {
		t.traced(10*day, "old")
		t.photo(47*hour, "waits")
	},
}
