// Package memo remembers what pure functions gave, by the content of all that they were given.
package memo

import (
	"crypto/sha256"
	"sync"
)

// Memo remembers the answers of one pure function from In to Out. Nobody may change an answer. Its methods may be called
// from several goroutines.
type Memo[In, Out any] struct {
	of   func(In) Out
	most int

	mu    sync.Mutex
	by    map[Key]Out
	order []Key // oldest first
}

// Key is the content of an input: its SHA-256.
type Key = [sha256.Size]byte

// New remembers at most that many answers of a function; the oldest go first. The function may be nil where only
// [Memo.Try] is used.
func New[In, Out any](most int, of func(In) Out) *Memo[In, Out] {
	return &Memo[In, Out]{of: of, most: most, by: map[Key]Out{}}
}

// Of is the function's answer.
func (m *Memo[In, Out]) Of(in In) Out {
	out, _ := m.Try(in, func() (Out, error) { return m.of(in), nil })
	return out
}

// Try is what was remembered for the input, or what make gives: for a function that has to read something which the input
// names. An error is not remembered.
func (m *Memo[In, Out]) Try(in In, make func() (Out, error)) (Out, error) {
	key := Content(in)
	m.mu.Lock()
	out, known := m.by[key]
	m.mu.Unlock()
	if known {
		return out, nil
	}
	out, err := make()
	if err != nil {
		return out, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if first, known := m.by[key]; known {
		return first, nil
	}
	if len(m.order) >= m.most {
		delete(m.by, m.order[0])
		m.order = m.order[1:]
	}
	m.by[key], m.order = out, append(m.order, key)
	return out, nil
}

// Forget empties the memory, for tests and benchmarks of the first time.
func (m *Memo[In, Out]) Forget() {
	m.mu.Lock()
	defer m.mu.Unlock()
	clear(m.by)
	m.order = nil
}
