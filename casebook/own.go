package casebook

// Own makes a kind known in the program's own cases, at version 1. A package that owns such a case calls it from
// init and nowhere else: the table is read without a lock afterwards. It panics when the kind is taken.
func Own[T Body](kind Kind) {
	if _, taken := ownBodies[kind]; taken {
		panic("casebook: kind " + string(kind) + " is registered twice")
	}
	if Find(kind) != nil {
		panic("casebook: kind " + string(kind) + " is one that nurses write")
	}
	ownBodies[kind] = as[T]
}
