package unit

import (
	"sync"
	"time"
)

// zones are those loaded so far, by name. There are some six hundred, and each takes some kilobytes.
var zones sync.Map

// Zone returns the time zone of an IANA name, such as "Europe/Berlin", read once and then shared; ok is false for an empty
// name and one that does not exist.
func Zone(name string) (zone *time.Location, ok bool) {
	if z, known := zones.Load(name); known {
		return z.(*time.Location), true
	}
	if name == "" {
		return nil, false
	}
	z, err := time.LoadLocation(name)
	if err != nil {
		return nil, false
	}
	first, _ := zones.LoadOrStore(name, z)
	return first.(*time.Location), true
}
