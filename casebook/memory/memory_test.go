package memory_test

import (
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/casebook/storetest"
)

func open(testing.TB) casebook.Store { return memory.New() }

func TestStore(t *testing.T) { storetest.Run(t, open) }

func BenchmarkStore(b *testing.B) { storetest.Bench(b, open) }

func TestKeys(t *testing.T) {
	storetest.RunKeys(t, func(testing.TB) storetest.Keyed { return memory.New() })
}
