package road

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"lowtide/week"
)

const (
	// Patience is how long a plan waits for the server.
	Patience = 3 * time.Second
	// pause is how long the server is left alone after it failed.
	pause = 5 * time.Minute
	// fresh is how long an answer holds.
	fresh = 24 * time.Hour
	// mostPlaces is how many places are asked for: ten thousand requests help nobody.
	mostPlaces = 900
)

// Keeper asks a server and remembers what it said. Its methods may be called from several goroutines.
type Keeper struct {
	Server *Server
	Now    func() time.Time

	mu     sync.Mutex
	places []week.Place
	legs   []week.Leg
	until  time.Time
	failed string
}

// Legs gives the ways between places and one sentence on where they come from, or why they do not. Places need degrees.
func (k *Keeper) Legs(ctx context.Context, places []week.Place) ([]week.Leg, string) {
	if len(places) < 2 {
		return nil, "The road server was not asked: fewer than two places have degrees of latitude and longitude."
	}
	if len(places) > mostPlaces {
		return nil, fmt.Sprintf("The road server was not asked: it takes %d places at most, and there are %d. Ways are computed from the map.", mostPlaces, len(places))
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	now := k.Now()
	if now.Before(k.until) && slices.EqualFunc(k.places, places, same) {
		return k.legs, k.words(len(places))
	}
	ctx, cancel := context.WithTimeout(ctx, Patience)
	defer cancel()
	legs, err := k.Server.Legs(ctx, places)
	k.places, k.legs, k.failed, k.until = slices.Clone(places), legs, "", now.Add(fresh)
	if err != nil {
		k.failed, k.until = err.Error(), now.Add(pause)
	}
	return k.legs, k.words(len(places))
}

func (k *Keeper) words(n int) string {
	if k.failed != "" {
		return "The road server gave no travel times: " + k.failed + ". Ways are computed from the map instead; it is asked again in 5 min."
	}
	if missing := n*(n-1) - len(k.legs); missing > 0 {
		return fmt.Sprintf("Travel times come from the agency's own road server; of %d ways it knows %d, and the others are computed from the map.", n*(n-1), n*(n-1)-missing)
	}
	return "Travel times come from the agency's own road server."
}

func same(a, b week.Place) bool {
	return a.Name == b.Name && *a.Lat == *b.Lat && *a.Lon == *b.Lon
}
