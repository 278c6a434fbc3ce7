package web

import "lowtide/web/page"

// lookCookie keeps whether pages are light or dark on this device; without it the device's own wish counts.
const lookCookie = "look"

// lookTime is how long a device keeps it, in seconds: a year.
const lookTime = 365 * 24 * 3600

// look is the look of a request's pages.
func (s *Server) look(r *Request) page.Look {
	c, err := r.Cookie(s.cookie(lookCookie))
	if err != nil {
		return page.LookDevice
	}
	return page.LookOf(c.Value)
}

// saveLook keeps the look on this device, and leads back to where it was chosen.
func (s *Server) saveLook(r *Request) (Answer, error) {
	s.setCookie(r, lookCookie, string(page.LookOf(r.form.Get("look"))), lookTime)
	to := safePath(r.URL.Query().Get("to"))
	if to == "" {
		to = "/"
	}
	return goTo(to)
}
