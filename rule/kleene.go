package rule

// truth is a value of Kleene's strong three-valued logic. The order of the constants is the order of truth, so that
// "and" is the smaller and "or" the greater of two.
type truth int8

const (
	no truth = iota
	unknown
	yes
)

func not(a truth) truth    { return yes - a }
func and(a, b truth) truth { return min(a, b) }
func or(a, b truth) truth  { return max(a, b) }

func truthOf(b bool) truth {
	if b {
		return yes
	}
	return no
}

// node is one node of the boolean structure of an expression: a leaf, or and/or/not over other nodes.
type node struct {
	op   op
	kids []*node
	leaf int
}

type op byte

const (
	opLeaf op = iota
	opAnd
	opOr
	opNot
)

// value computes the truth of the tree, asking leaf only for as many leaves as the answer needs.
func (n *node) value(leaf func(int) truth) truth {
	switch n.op {
	case opLeaf:
		return leaf(n.leaf)
	case opNot:
		return not(n.kids[0].value(leaf))
	case opAnd:
		v := yes
		for _, k := range n.kids {
			if v = and(v, k.value(leaf)); v == no {
				break
			}
		}
		return v
	}
	v := no
	for _, k := range n.kids {
		if v = or(v, k.value(leaf)); v == yes {
			break
		}
	}
	return v
}

// reasons returns, as a set of bits, the leaves that make the tree what it is: for yes those that hold it up, for
// no those that bring it down, for unknown those that are unknown and whose answer could settle it.
func (n *node) reasons(leaf func(int) truth) uint64 {
	switch n.op {
	case opLeaf:
		return 1 << n.leaf
	case opNot:
		return n.kids[0].reasons(leaf)
	}
	v := n.value(leaf)
	var set uint64
	for _, k := range n.kids {
		if k.value(leaf) == v {
			set |= k.reasons(leaf)
		}
	}
	return set
}

// possible is a set of truths that a tree may take: bit 1<<no, 1<<unknown, 1<<yes.
type possible uint8

const (
	mayNo      possible = 1 << no
	mayUnknown possible = 1 << unknown
	mayYes     possible = 1 << yes
)

// possible joins what the leaves may be, taking them as independent of each other.
func (n *node) possible(leaf func(int) possible) possible {
	if n.op == opLeaf {
		return leaf(n.leaf)
	}
	set := n.kids[0].possible(leaf)
	for _, k := range n.kids[1:] {
		set = joinPossible(set, k.possible(leaf), n.op)
	}
	if n.op == opNot {
		return set&mayUnknown | set&mayNo<<2 | set&mayYes>>2
	}
	return set
}

func joinPossible(a, b possible, o op) possible {
	var set possible
	for x := no; x <= yes; x++ {
		for y := no; y <= yes; y++ {
			if a&(1<<x) == 0 || b&(1<<y) == 0 {
				continue
			}
			if o == opAnd {
				set |= 1 << and(x, y)
			} else {
				set |= 1 << or(x, y)
			}
		}
	}
	return set
}
