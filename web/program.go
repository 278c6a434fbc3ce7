package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"

	"lowtide/web/static"
)

// Program is Lowtide built for browsers: the program compressed with gzip, the script that starts it, and a name for this
// build.
type Program struct {
	Wasm, Loader []byte
	Mark         string
}

// atBedside are the routes that a device answers by itself, where the server does not. All others need the network.
var atBedside = map[string]bool{
	"GET /{$}":                                  true,
	"GET /phone":                                true,
	"GET /bench":                                true,
	"GET /case/{case}/bench":                    true,
	"GET /call":                                 true,
	"POST /call":                                true,
	"GET /call/found":                           true,
	"GET /call/{call}":                          true,
	"POST /call/{call}":                         true,
	"GET /case/{case}/call":                     true,
	"POST /case/{case}/call":                    true,
	"GET /case/{case}/call/{call}":              true,
	"POST /case/{case}/call/{call}":             true,
	"GET /case/{case}":                          true,
	"GET /case/{case}/log":                      true,
	"GET /case/{case}/wound/{wound}":            true,
	"GET /case/{case}/decision":                 true,
	"GET /case/{case}/visit":                    true,
	"POST /case/{case}/visit":                   true,
	"GET /case/{case}/add":                      true,
	"GET /case/{case}/add/{kind}":               true,
	"POST /case/{case}/add/{kind}":              true,
	"GET /case/{case}/correct/{entry}":          true,
	"POST /case/{case}/correct/{entry}":         true,
	"GET /case/{case}/asked":                    true,
	"POST /case/{case}/asked":                   true,
	"GET /case/{case}/wound/{wound}/edge":       true,
	"GET /case/{case}/photo":                    true,
	"POST /case/{case}/photo":                   true,
	"GET /case/{case}/photo/{entry}":            true,
	"GET /case/{case}/outline/{entry}":          true,
	"POST /case/{case}/outline/{entry}/confirm": true,
	"POST /case/{case}/outline/{entry}/edge":    true,
	"POST /case/{case}/outline/{entry}/measure": true,
	"GET /rules":                                true,
	"GET /sources":                              true,
	"GET /rules/{rule}":                         true,
	"GET /about":                                true,
	"GET /hazards":                              true,
}

// leads are the routes at which a person leaves: whatever the server says, the device locks.
var leads = []string{"/leave", "/switch"}

// worker is what the service worker's script needs to know of this build: it changes with everything that the worker
// keeps, so that a browser sees that there is a new one.
type worker struct {
	Mark   string   `json:"mark"`
	Files  []string `json:"files"`
	Wasm   string   `json:"wasm"`
	Loader string   `json:"loader"`
	// Get and Post are regular expressions of the paths that the device answers.
	Get   []string `json:"get"`
	Post  []string `json:"post"`
	Leave []string `json:"leave"`
}

var hole = regexp.MustCompile(`\{[a-z]+\}`)

// program is Lowtide built for browsers, or a refusal.
func (s *Server) program(ctx context.Context) (Program, error) {
	if s.Program == nil {
		return Program{}, errMissing
	}
	p, err := s.Program(ctx)
	if err != nil {
		return Program{}, errors.Join(errMissing, err)
	}
	return p, nil
}

// showWorker serves the service worker's script. The worker runs under the policy that comes with it, which lets it start
// the program; pages may not.
func (s *Server) showWorker(r *Request) (Answer, error) {
	p, err := s.program(r.Context())
	if err != nil {
		return nil, err
	}
	at := "/program/" + p.Mark + "/"
	b := worker{Mark: static.Mark + "-" + p.Mark, Wasm: at + wasmName, Loader: at + loaderName, Leave: leads}
	for _, name := range static.Names() {
		b.Files = append(b.Files, static.Path(name))
	}
	for _, route := range s.Routes() {
		if !atBedside[route.Method+" "+route.Path] {
			continue
		}
		pattern := "^" + hole.ReplaceAllString(strings.TrimSuffix(route.Path, "{$}"), "[^/]+") + "$"
		if route.Method == http.MethodGet {
			b.Get = append(b.Get, pattern)
		} else {
			b.Post = append(b.Post, pattern)
		}
	}
	raw, err := json.Marshal(b)
	if err != nil {
		return nil, err
	}
	script, err := static.FS.ReadFile("worker.js")
	if err != nil {
		return nil, err
	}
	r.header.Set("Content-Security-Policy", "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'")
	r.header.Set("Cache-Control", "no-cache")
	return content{http.StatusOK, "text/javascript; charset=utf-8", "", slices.Concat([]byte("self.lowtideBuild = "), raw, []byte(";\n"), script)}, nil
}

const (
	wasmName   = "lowtide.wasm"
	loaderName = "loader.js"
)

// showProgram serves the program built for browsers. It holds nothing of a patient.
func (s *Server) showProgram(r *Request) (Answer, error) {
	p, err := s.program(r.Context())
	if err != nil {
		return nil, err
	}
	if r.PathValue("mark") != p.Mark {
		return nil, errMissing
	}
	r.header.Set("Cache-Control", "public, max-age=31536000, immutable")
	switch r.PathValue("file") {
	case loaderName:
		return content{http.StatusOK, "text/javascript; charset=utf-8", "", p.Loader}, nil
	case wasmName:
		raw := p.Wasm
		if takesGzip(r.Request) {
			r.header.Set("Content-Encoding", "gzip")
		} else if raw, err = unpacked(p.Wasm); err != nil {
			return nil, err
		}
		return content{http.StatusOK, "application/wasm", "", raw}, nil
	}
	return nil, errMissing
}

func unpacked(raw []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}
