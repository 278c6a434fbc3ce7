package web

import (
	"net/http"
	"net/url"
	"sort"
	"strconv"
	"strings"
)

// fhirMost is the greatest page of an answer to a search, and its size where none is asked for.
const fhirMost = 1000

// SearchPage is one page of an answer to a search: what it holds of Total found, its own address and that of the next
// page, "" on the last.
type SearchPage struct {
	Found      []Resource
	Total      int
	Base       string
	Self, Next string
}

// afterParam is where the next page begins: behind the resource with that ID. Resources stand in the order of their IDs,
// so pages that are asked for one after the other show each resource once, also when an entry was written in between.
const afterParam = "_after"

// searchFHIR answers a search: a Patient by identifier, everything else by patient; _count bounds a page.
func (s *Server) searchFHIR(r *Request) (Answer, error) {
	kind := r.PathValue("type")
	t, err := s.token(r, kind)
	if err != nil {
		return nil, err
	}
	q := r.URL.Query()
	needed := "patient"
	if kind == "Patient" {
		needed = "identifier"
	}
	for name := range q {
		if name != needed && name != "_format" && name != "_count" && name != afterParam {
			return nil, refuseFHIR(http.StatusBadRequest, "not-supported", "The search parameter "+strconv.Quote(name)+" is not known here: use "+needed+" and _count.")
		}
	}
	want := strings.TrimSpace(q.Get(needed))
	if want == "" {
		return nil, refuseFHIR(http.StatusBadRequest, "required", "The search parameter "+needed+" is needed.")
	}
	count := fhirMost
	if text := q.Get("_count"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 {
			return nil, refuseFHIR(http.StatusBadRequest, "value", "_count is a whole number, 0 or more.")
		}
		count = min(n, fhirMost)
	}
	var found []Resource
	if kind == "Patient" {
		found, err = s.patientsBy(r, t, want)
	} else {
		found, err = s.ofPatient(r, t, strings.TrimPrefix(want, "Patient/"), kind)
	}
	if err != nil {
		return nil, err
	}
	scheme := "http"
	if s.Secure {
		scheme = "https"
	}
	raw, err := s.Exchange.SearchSet(pageOf(ofKind(found, kind), scheme+"://"+r.Host+"/fhir", kind, needed, want, q.Get(afterParam), count))
	if err != nil {
		return nil, err
	}
	return sendFHIR(raw)
}

// pageOf takes the page of at most count resources behind an ID. With a count of 0 only the number is told.
func pageOf(found []Resource, base, kind, needed, want, after string, count int) SearchPage {
	sort.Slice(found, func(i, j int) bool { return found[i].ID < found[j].ID })
	address := func(after string) string {
		q := url.Values{needed: {want}, "_count": {strconv.Itoa(count)}}
		if after != "" {
			q.Set(afterParam, after)
		}
		return base + "/" + kind + "?" + q.Encode()
	}
	p := SearchPage{Total: len(found), Base: base, Self: address(after)}
	first := sort.Search(len(found), func(i int) bool { return found[i].ID > after })
	last := min(first+count, len(found))
	p.Found = found[first:last]
	if count > 0 && last < len(found) {
		p.Next = address(found[last-1].ID)
	}
	return p
}
