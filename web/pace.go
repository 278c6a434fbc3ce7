package web

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// pace bounds how fast requests are answered, for each account at each address. The zero value does not.
type pace struct {
	mu       sync.Mutex
	perSec   rate.Limit
	burst    int
	limiters map[string]*rate.Limiter
}

// maxPaced bounds how many are kept; those at rest are dropped first.
const maxPaced = 10_000

// SetPace bounds requests to perSec in the long run and burst at once, for each account at each address.
func (s *Server) SetPace(perSec float64, burst int) {
	s.pace.perSec, s.pace.burst, s.pace.limiters = rate.Limit(perSec), burst, map[string]*rate.Limiter{}
}

func (p *pace) allow(v *visitor, from string, now time.Time) bool {
	if p.limiters == nil {
		return true
	}
	key := from
	if v != nil {
		key = v.account.Name + "\x00" + from
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.limiters[key]
	if l == nil {
		if len(p.limiters) >= maxPaced {
			for k, old := range p.limiters {
				if old.TokensAt(now) >= float64(p.burst) {
					delete(p.limiters, k)
				}
			}
			if len(p.limiters) >= maxPaced {
				return false
			}
		}
		l = rate.NewLimiter(p.perSec, p.burst)
		p.limiters[key] = l
	}
	return l.AllowN(now, 1)
}
