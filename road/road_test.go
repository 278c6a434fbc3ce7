package road

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/week"
)

func place(name string, lat, lon float64) week.Place {
	return week.Place{Name: name, Lat: &lat, Lon: &lon}
}

// seconds is what the stand-ins say of a way: 36 km/h along the great circle.
func seconds(aLat, aLon, bLat, bLon float64) float64 {
	return math.Round(100*week.GreatCircle(aLat, aLon, bLat, bLon)) + 30
}

// osrm stands in for OSRM's table service, strict about what its documentation asks: coordinates as longitude,latitude,
// indexes inside them, at most 100 of them.
func osrm(t *testing.T) http.HandlerFunc {
	path := regexp.MustCompile(`^/table/v1/driving/((?:-?\d+\.\d+,-?\d+\.\d+;?)+)$`)
	return func(w http.ResponseWriter, r *http.Request) {
		m := path.FindStringSubmatch(r.URL.Path)
		if r.Method != http.MethodGet || m == nil {
			w.WriteHeader(http.StatusBadRequest)
			fmt.Fprint(w, `{"code":"InvalidUrl","message":"URL string malformed"}`)
			return
		}
		var lon, lat []float64
		for c := range strings.SplitSeq(m[1], ";") {
			var x, y float64
			if _, err := fmt.Sscanf(c, "%f,%f", &x, &y); err != nil {
				t.Error(err)
			}
			lon, lat = append(lon, x), append(lat, y)
		}
		index := func(name string) (out []int) {
			for c := range strings.SplitSeq(rawQuery(r.URL.RawQuery)[name], ";") {
				i, err := strconv.Atoi(c)
				if err != nil || i < 0 || i >= len(lon) {
					t.Errorf("%s: %q of %d", name, c, len(lon))
				}
				out = append(out, i)
			}
			return out
		}
		if len(lon) > 100 {
			w.WriteHeader(http.StatusBadRequest)
			fmt.Fprint(w, `{"code":"TooBig","message":"Too many table coordinates"}`)
			return
		}
		var rows [][]float64
		for _, i := range index("sources") {
			var row []float64
			for _, j := range index("destinations") {
				row = append(row, seconds(lat[i], lon[i], lat[j], lon[j]))
			}
			rows = append(rows, row)
		}
		_ = json.NewEncoder(w).Encode(map[string]any{"code": "Ok", "durations": rows, "sources": []any{}, "destinations": []any{}})
	}
}

// rawQuery splits a query as OSRM does, which takes the semicolon as it is.
func rawQuery(q string) map[string]string {
	out := map[string]string{}
	for part := range strings.SplitSeq(q, "&") {
		k, v, _ := strings.Cut(part, "=")
		out[k] = v
	}
	return out
}

// valhalla stands in for Valhalla's matrix service.
func valhalla(t *testing.T) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		type point struct{ Lat, Lon *float64 }
		var q struct {
			Sources, Targets []point
			Costing          string
		}
		d := json.NewDecoder(r.Body)
		d.DisallowUnknownFields()
		if err := d.Decode(&q); err != nil || r.Method != http.MethodPost || r.URL.Path != "/sources_to_targets" || q.Costing != "auto" || len(q.Sources)*len(q.Targets) > 2500 {
			w.WriteHeader(http.StatusBadRequest)
			fmt.Fprint(w, `{"error_code":112,"error":"Insufficiently specified required parameter 'sources'","status_code":400,"status":"Bad Request"}`)
			return
		}
		var rows [][]any
		for i, a := range q.Sources {
			var row []any
			for j, b := range q.Targets {
				if a.Lat == nil || b.Lon == nil {
					t.Error("a point without degrees")
				}
				row = append(row, map[string]any{"from_index": i, "to_index": j, "time": seconds(*a.Lat, *a.Lon, *b.Lat, *b.Lon), "distance": 1.0})
			}
			rows = append(rows, row)
		}
		_ = json.NewEncoder(w).Encode(map[string]any{"sources_to_targets": rows, "units": "kilometers"})
	}
}

func many(n int) (out []week.Place) {
	for i := range n {
		out = append(out, place(fmt.Sprintf("house %d", i), 50+float64(i%10)/100, 8+float64(i)/200))
	}
	return out
}

// TestContract: both services get requests as documented, in blocks that their own limits allow, and every way comes back
// as minutes in the right direction.
func TestContract(t *testing.T) {
	for kind, h := range map[string]http.HandlerFunc{"osrm": osrm(t), "valhalla": valhalla(t)} {
		stand := httptest.NewServer(h)
		s, err := Parse(kind + "=" + stand.URL + "/")
		if err != nil {
			t.Fatal(err)
		}
		places := many(2*block + 3)
		legs, err := s.Legs(t.Context(), places)
		if err != nil || len(legs) != len(places)*(len(places)-1) {
			t.Fatalf("%s: %d ways, %v", kind, len(legs), err)
		}
		at := map[string]week.Place{}
		for _, p := range places {
			at[p.Name] = p
		}
		for _, l := range legs {
			a, b := at[l.From], at[l.To]
			if want := seconds(*a.Lat, *a.Lon, *b.Lat, *b.Lon) / 60; math.Abs(l.Minutes-want) > 0.02 {
				t.Fatalf("%s: %s to %s %v min, want %v", kind, l.From, l.To, l.Minutes, want)
			}
		}
		stand.Close()
	}
}

// TestFallsBack: whatever a server does wrong, there are no ways and one sentence, and it is left alone for a while.
func TestFallsBack(t *testing.T) {
	say := func(status int, body string) http.HandlerFunc {
		return func(w http.ResponseWriter, _ *http.Request) {
			w.WriteHeader(status)
			fmt.Fprint(w, body)
		}
	}
	for name, x := range map[string]struct {
		kind string
		h    http.HandlerFunc
		want string
	}{
		"an error":         {"osrm", say(500, "out of memory"), "it answers 500"},
		"no JSON":          {"osrm", say(200, "<html>hello</html>"), "no JSON that we know"},
		"nothing":          {"valhalla", say(200, ""), "no JSON that we know"},
		"a refusal":        {"osrm", say(400, `{"code":"NoSegment","message":"Could not find a matching segment"}`), "NoSegment"},
		"refused":          {"valhalla", say(400, `{"error_code":171,"error":"No suitable edges near location"}`), "No suitable edges"},
		"too few rows":     {"osrm", say(200, `{"code":"Ok","durations":[[0,60]]}`), "answers for 1 places where 2 were asked"},
		"too few columns":  {"osrm", say(200, `{"code":"Ok","durations":[[0],[60]]}`), "answers for 1 places where 2 were asked"},
		"a strange index":  {"valhalla", say(200, `{"sources_to_targets":[[{"from_index":7,"to_index":0,"time":5}]]}`), "which was not asked"},
		"a negative time":  {"osrm", say(200, `{"code":"Ok","durations":[[0,-60],[60,0]]}`), "which cannot be"},
		"as fast as sound": {"osrm", say(200, `{"code":"Ok","durations":[[0,1],[1,0]]}`), "which cannot be"},
		"two days":         {"osrm", say(200, `{"code":"Ok","durations":[[0,172800],[60,0]]}`), "which cannot be"},
		"sent elsewhere":   {"osrm", http.RedirectHandler("http://127.0.0.1:1/", http.StatusFound).ServeHTTP, "sends us elsewhere"},
		"too long":         {"osrm", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, strings.Repeat(" ", mostBytes+10)) }, "too long"},
		"breaks off": {"osrm", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "99")
			fmt.Fprint(w, "{")
		}, "broke off"},
	} {
		asked := 0
		stand := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { asked++; x.h(w, r) }))
		s, err := Parse(x.kind + "=" + stand.URL)
		if err != nil {
			t.Fatal(err)
		}
		now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
		k := &Keeper{Server: s, Now: func() time.Time { return now }}
		places := many(2)
		legs, words := k.Legs(t.Context(), places)
		if len(legs) > 0 || !strings.Contains(words, x.want) || !strings.Contains(words, "computed from the map") || strings.Contains(words, "50.0") {
			t.Errorf("%s: %d ways, %q", name, len(legs), words)
		}
		k.Legs(t.Context(), places)
		if asked != 1 {
			t.Errorf("%s: asked %d times at once", name, asked)
		}
		now = now.Add(pause)
		if k.Legs(t.Context(), places); asked != 2 {
			t.Errorf("%s: asked %d times, want again after a pause", name, asked)
		}
		stand.Close()
	}
}

// TestSlow: a server that does not answer in time is not waited for.
func TestSlow(t *testing.T) {
	done := make(chan struct{})
	stand := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { <-done }))
	defer stand.Close()
	defer close(done)
	s, err := Parse("osrm=" + stand.URL)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if _, err := s.Legs(ctx, many(2)); err == nil || !strings.Contains(err.Error(), "in time") {
		t.Error(err)
	}
	gone, err := Parse("valhalla=http://127.0.0.1:1")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := gone.Legs(t.Context(), many(2)); err == nil || !strings.Contains(err.Error(), "cannot be reached") {
		t.Error(err)
	}
}

// TestUnknownWay: a way that the server does not know is missing, and the sentence counts it.
func TestUnknownWay(t *testing.T) {
	stand := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, `{"code":"Ok","durations":[[0,null],[600,0]]}`)
	}))
	defer stand.Close()
	s, err := Parse("osrm=" + stand.URL)
	if err != nil {
		t.Fatal(err)
	}
	k := &Keeper{Server: s, Now: func() time.Time { return time.Unix(0, 0) }}
	legs, words := k.Legs(t.Context(), many(2))
	if len(legs) != 1 || legs[0] != (week.Leg{From: "house 1", To: "house 0", Minutes: 10}) || !strings.Contains(words, "of 2 ways it knows 1") {
		t.Errorf("%v %q", legs, words)
	}
}

func TestParse(t *testing.T) {
	for _, bad := range []string{"", "http://x", "other=http://x", "osrm=", "osrm=ftp://x", "osrm=/x", "osrm=http://x?y=1", "valhalla=://"} {
		if _, err := Parse(bad); err == nil {
			t.Errorf("%q: no error", bad)
		}
	}
}
