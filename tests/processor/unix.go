//go:build unix

// Package processor tells benchmarks what this process has used of the processor, which others on the machine do not change.
package processor

import (
	"syscall"
	"testing"
	"time"
)

// Time is what this process has used so far.
func Time(tb testing.TB) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		tb.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
