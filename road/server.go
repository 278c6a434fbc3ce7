package road

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"lowtide/week"
)

const (
	// block is how many sources, and targets, one request has: OSRM's own limit is 100 coordinates, Valhalla's 2,500 pairs.
	block = 45
	// mostBytes is the longest answer that is read.
	mostBytes = 8 << 20
	// longestMin is the longest way between two places of one service, in minutes, and fastestKmH the fastest straight line
	// that a car could drive: an answer beyond them cannot be right.
	longestMin = 24 * 60
	fastestKmH = 250
	// nearKm is how far apart two places may be that a server puts on one spot of its road.
	nearKm = 0.5
)

// Server is a road server at an address.
type Server struct {
	kind   string
	base   string
	client *http.Client
}

// Parse reads an address such as osrm=http://10.0.0.5:5000 or valhalla=https://roads.example.org.
func Parse(address string) (*Server, error) {
	kind, base, ok := strings.Cut(address, "=")
	u, err := url.Parse(base)
	switch {
	case !ok || kind != "osrm" && kind != "valhalla":
		return nil, fmt.Errorf("road server %q: write osrm=ADDRESS or valhalla=ADDRESS", address)
	case err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.RawQuery != "" || u.Fragment != "":
		return nil, fmt.Errorf("road server %q: write an address such as http://10.0.0.5:5000", base)
	}
	return &Server{kind, strings.TrimRight(base, "/"), &http.Client{
		Transport:     &http.Transport{DialContext: (&net.Dialer{Timeout: 2 * time.Second}).DialContext, MaxIdleConnsPerHost: 2, IdleConnTimeout: time.Minute},
		CheckRedirect: func(*http.Request, []*http.Request) error { return errors.New("it sends us elsewhere") },
	}}, nil
}

// Legs asks for the ways between all places; each has degrees. A way that the server does not know is missing. With any
// error nothing of the answer is to be used.
func (s *Server) Legs(ctx context.Context, places []week.Place) ([]week.Leg, error) {
	var out []week.Leg
	for i := 0; i < len(places); i += block {
		for j := 0; j < len(places); j += block {
			from, to := places[i:min(i+block, len(places))], places[j:min(j+block, len(places))]
			seconds, err := s.table(ctx, from, to)
			if err != nil {
				return nil, err
			}
			if len(seconds) != len(from) {
				return nil, fmt.Errorf("it answers for %d places where %d were asked", len(seconds), len(from))
			}
			for a, row := range seconds {
				if len(row) != len(to) {
					return nil, fmt.Errorf("it answers for %d places where %d were asked", len(row), len(to))
				}
				for b, sec := range row {
					if sec == nil || week.Key(from[a].Name) == week.Key(to[b].Name) {
						continue
					}
					km := week.GreatCircle(*from[a].Lat, *from[a].Lon, *to[b].Lat, *to[b].Lon)
					m := *sec / 60
					if !(m >= 0 && m <= longestMin) || km > nearKm && km/(m/60) > fastestKmH {
						return nil, fmt.Errorf("it says %.1f min for %.1f km, which cannot be", m, km)
					}
					out = append(out, week.Leg{From: from[a].Name, To: to[b].Name, Minutes: m})
				}
			}
		}
	}
	return out, nil
}

// table asks for one block; nil is a way that the server does not know. In seconds.
func (s *Server) table(ctx context.Context, from, to []week.Place) ([][]*float64, error) {
	if s.kind == "osrm" {
		return s.osrm(ctx, from, to)
	}
	return s.valhalla(ctx, from, to)
}

// osrm is GET /table/v1/driving/{lon},{lat};...?sources=0;1&destinations=2;3: durations by row of sources, null where there
// is no way.
func (s *Server) osrm(ctx context.Context, from, to []week.Place) ([][]*float64, error) {
	var points, sources, targets []string
	for i, p := range append(append([]week.Place{}, from...), to...) {
		points = append(points, fmt.Sprintf("%.6f,%.6f", *p.Lon, *p.Lat))
		if i < len(from) {
			sources = append(sources, fmt.Sprint(i))
		} else {
			targets = append(targets, fmt.Sprint(i))
		}
	}
	var a struct {
		Code, Message string
		Durations     [][]*float64
	}
	path := "/table/v1/driving/" + strings.Join(points, ";") + "?sources=" + strings.Join(sources, ";") + "&destinations=" + strings.Join(targets, ";") + "&annotations=duration"
	if err := s.ask(ctx, http.MethodGet, path, nil, &a); err != nil {
		return nil, err
	}
	if a.Code != "Ok" {
		return nil, fmt.Errorf("it says %q %s", cut(a.Code), cut(a.Message))
	}
	return a.Durations, nil
}

// valhalla is POST /sources_to_targets with sources, targets and costing: a row of times for each source, null where there
// is no way. Rows and columns are placed by the indexes that come with them.
func (s *Server) valhalla(ctx context.Context, from, to []week.Place) ([][]*float64, error) {
	type point struct {
		Lat float64 `json:"lat"`
		Lon float64 `json:"lon"`
	}
	list := func(places []week.Place) (out []point) {
		for _, p := range places {
			out = append(out, point{*p.Lat, *p.Lon})
		}
		return out
	}
	body, err := json.Marshal(map[string]any{"sources": list(from), "targets": list(to), "costing": "auto"})
	if err != nil {
		return nil, err
	}
	var a struct {
		Table [][]struct {
			Time *float64 `json:"time"`
			From int      `json:"from_index"`
			To   int      `json:"to_index"`
		} `json:"sources_to_targets"`
		Error string `json:"error"`
	}
	if err := s.ask(ctx, http.MethodPost, "/sources_to_targets", body, &a); err != nil {
		return nil, err
	}
	if a.Error != "" {
		return nil, fmt.Errorf("it says %q", cut(a.Error))
	}
	out := make([][]*float64, len(a.Table))
	for _, row := range a.Table {
		for _, c := range row {
			if c.From < 0 || c.From >= len(from) || c.To < 0 || c.To >= len(to) || c.From >= len(out) {
				return nil, fmt.Errorf("it answers for place %d to place %d, which was not asked", c.From, c.To)
			}
			if out[c.From] == nil {
				out[c.From] = make([]*float64, len(row))
			}
			if c.To >= len(out[c.From]) {
				return nil, fmt.Errorf("it answers for %d places where %d were asked", len(row), len(to))
			}
			out[c.From][c.To] = c.Time
		}
	}
	return out, nil
}

// ask sends one request and reads the JSON that comes back.
func (s *Server) ask(ctx context.Context, method, path string, body []byte, into any) error {
	r, err := http.NewRequestWithContext(ctx, method, s.base+path, bytes.NewReader(body))
	if err != nil {
		return err
	}
	r.Header.Set("Accept", "application/json")
	if body != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	w, err := s.client.Do(r)
	var timeout net.Error
	switch {
	case errors.As(err, &timeout) && timeout.Timeout():
		return errors.New("it did not answer in time")
	case err != nil:
		var u *url.Error
		if errors.As(err, &u) {
			err = u.Err // without the address, which holds coordinates
		}
		return fmt.Errorf("it cannot be reached: %s", cut(err.Error()))
	}
	defer w.Body.Close()
	raw, err := io.ReadAll(io.LimitReader(w.Body, mostBytes+1))
	switch {
	case errors.As(err, &timeout) && timeout.Timeout(), errors.Is(err, context.DeadlineExceeded):
		return errors.New("it did not answer in time")
	case err != nil:
		return errors.New("its answer broke off")
	case len(raw) > mostBytes:
		return errors.New("its answer is too long")
	}
	if err := json.Unmarshal(raw, into); err != nil {
		return fmt.Errorf("it answers %s and no JSON that we know", w.Status)
	}
	if w.StatusCode != http.StatusOK && w.StatusCode != http.StatusBadRequest { // 400 comes with a reason in the JSON
		return fmt.Errorf("it answers %s", w.Status)
	}
	return nil
}

func cut(s string) string {
	r := []rune(s)
	return string(r[:min(len(r), 120)])
}
