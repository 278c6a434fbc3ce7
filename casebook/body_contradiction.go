package casebook

// KindContradictionSettled is a decision between entries that cannot all be so.
const KindContradictionSettled Kind = "contradiction.settled"

// ContradictionSettled says which of several entries that contradict each other is right. It changes none of them: what is
// wrong does not count any more for the point that was asked about, and for nothing else.
type ContradictionSettled struct {
	// About is the point on which the entries contradict each other.
	About string `json:"about" jsonschema:"required,enum=suction,enum=size,enum=correction,enum=person,enum=canister,enum=pump" words:"Asked about"`
	// Entries are the IDs of the entries; of a correction, first the entry that was corrected.
	Entries []string `json:"entries" jsonschema:"required,minItems=1,maxItems=20" words:"Entries"`
	// Right is the ID of the entry that is right, or "both".
	Right string `json:"right" jsonschema:"required,minLength=1,maxLength=40" words:"Right is"`
	// How tells how it was found out.
	How string `json:"how" jsonschema:"required,minLength=3,maxLength=1000" words:"How that is known"`
}

// Both is what [ContradictionSettled] says where nothing is wrong.
const Both = "both"

// Kind returns the kind of the entry.
func (ContradictionSettled) Kind() Kind { return KindContradictionSettled }

func foldContradictionSettled(f *Folding, l *Line, b ContradictionSettled) {
	add(&f.Settled, l, b)
}
