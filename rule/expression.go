package rule

import (
	"fmt"
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/parser"
	"github.com/expr-lang/expr/vm"

	"lowtide/rule/value"
)

// condition is a compiled expression: its boolean structure and its leaves.
type condition struct {
	root   *node
	leaves []leaf
}

// leaf is a part of a condition without and, or, not. Exactly one way of computing it is set.
type leaf struct {
	terms []int // that must be known; none for known(term)
	fixed *truth
	// flag: the leaf is a yes/no term by itself. asks: it is known(term).
	flag, asks bool
	clock      *clock
	program    *vm.Program
}

// clock is a leaf "since(T) OP limit" or "until(T) OP limit", kept as "now OP T + sign*limit".
type clock struct {
	term    int
	sign    float64
	op      string
	limitH  float64
	program *vm.Program // computes the limit when it is not constant
}

// maxLeaves bounds a condition so that a set of leaves fits in 64 bits.
const maxLeaves = 64

// compiler turns one expression text into a condition, gathering complaints.
type compiler struct {
	scope  Scope
	values map[string]constant
	used   map[string]bool // value names that were used
	say    func(what, remedy string)
	out    *condition
}

// constant is a named value as expressions see it.
type constant struct {
	value any
	unit  string
}

// compile returns nil after a complaint.
func (c *compiler) compile(text string) *condition {
	tree, err := parser.Parse(text)
	if err != nil {
		line, _, _ := strings.Cut(err.Error(), "\n")
		c.say("the expression cannot be read: "+line, "see the expression language in the rule format")
		return nil
	}
	c.out = &condition{}
	complaints := 0
	say := c.say
	c.say = func(what, remedy string) { complaints++; say(what, remedy) }
	c.out.root = c.structure(tree.Node)
	c.say = say
	if complaints == 0 && len(c.out.leaves) > maxLeaves {
		c.say(fmt.Sprintf("the expression has %d conditions", len(c.out.leaves)),
			fmt.Sprintf("split the rule; %d are the most", maxLeaves))
		return nil
	}
	if complaints > 0 {
		return nil
	}
	return c.out
}

// structure splits at and, or, not.
func (c *compiler) structure(n ast.Node) *node {
	switch n := n.(type) {
	case *ast.UnaryNode:
		if n.Operator == "not" || n.Operator == "!" {
			return &node{op: opNot, kids: []*node{c.structure(n.Node)}}
		}
	case *ast.BinaryNode:
		o := map[string]op{"and": opAnd, "&&": opAnd, "or": opOr, "||": opOr}[n.Operator]
		if o == opLeaf {
			break
		}
		out := &node{op: o}
		for _, side := range []ast.Node{n.Left, n.Right} {
			k := c.structure(side)
			if k.op == o { // a and (b and c) is one "and" of three
				out.kids = append(out.kids, k.kids...)
			} else {
				out.kids = append(out.kids, k)
			}
		}
		return out
	}
	c.out.leaves = append(c.out.leaves, c.leaf(n))
	return &node{op: opLeaf, leaf: len(c.out.leaves) - 1}
}

func (c *compiler) leaf(n ast.Node) leaf {
	if b, ok := n.(*ast.BinaryNode); ok {
		if name, arg := call(b.Left); name == "since" || name == "until" {
			return c.clockLeaf(name, arg, b)
		}
	}
	if name, arg := call(n); name == "known" {
		i, _ := c.term(arg, name)
		return leaf{terms: []int{i}, asks: true}
	}
	t := c.infer(n)
	if t.typ != "" && (t.typ != Bool || t.list) {
		c.say("\""+source(n)+"\" is a "+t.words()+", not yes or no", "compare it with something")
		return leaf{}
	}
	if t.typ == "" {
		return leaf{}
	}
	if t.term >= 0 {
		return leaf{terms: []int{t.term}, flag: true}
	}
	if v, ok := t.value.(bool); ok {
		v := truthOf(v)
		return leaf{fixed: &v}
	}
	return leaf{terms: t.terms, program: c.program(t, Bool, n)}
}

// clockLeaf accepts only "since(T) OP limit" and "until(T) OP limit" with a limit free of the clock, because only
// then is the instant known at which the answer changes.
func (c *compiler) clockLeaf(name string, arg []ast.Node, b *ast.BinaryNode) leaf {
	i, ok := c.term(arg, name)
	if ok && Vocabulary[i].Type != Time {
		c.say(fmt.Sprintf("%s(%s): %s is a %s", name, Vocabulary[i].Name, Vocabulary[i].Name, Vocabulary[i].Type),
			"use a term that is a time")
		ok = false
	}
	switch b.Operator {
	case "<", "<=", ">", ">=":
	default:
		c.say(fmt.Sprintf("%s(...) %s ...: the clock can only be compared", name, b.Operator),
			"write "+name+"(TERM) < LIMIT, with <, <=, > or >=")
		return leaf{}
	}
	t := c.infer(b.Right)
	if t.typ != "" && (t.typ != Number || t.list) {
		c.say(fmt.Sprintf("%s(...) is compared with a %s", name, t.words()), "compare it with a number of hours")
		t.typ = ""
	}
	if t.typ != "" && t.unit != "" && t.unit != "h" {
		c.say(fmt.Sprintf("%s(...) counts hours and is compared with a number in %s", name, t.unit), "give the limit in h")
		return leaf{}
	}
	if !ok || t.typ == "" {
		return leaf{}
	}
	k := &clock{term: i, sign: 1, op: b.Operator}
	if name == "until" {
		// T - now < limit is now > T - limit.
		k.sign, k.op = -1, map[string]string{"<": ">", "<=": ">=", ">": "<", ">=": "<="}[b.Operator]
	}
	if v, fixed := t.value.(float64); fixed {
		if v < -value.MaxHours || v > value.MaxHours {
			c.say(fmt.Sprintf("the limit of %s(...) is longer than 200 years", name), "check the limit and its unit")
		}
		k.limitH = v
	} else {
		k.program = c.program(t, Number, b.Right)
	}
	return leaf{terms: merge([]int{i}, t.terms), clock: k}
}

// term returns the term that is the only argument of a call.
func (c *compiler) term(args []ast.Node, name string) (int, bool) {
	if len(args) == 1 {
		if full, ok := member(args[0]); ok {
			return c.find(full)
		}
	}
	c.say(name+"(...) needs one term", "write "+name+"(TERM), for example "+name+"(visit.last_at)")
	return 0, false
}

func (c *compiler) find(name string) (int, bool) {
	i, ok := index[name]
	if !ok {
		c.say("there is no term "+name, "use a term of the vocabulary"+nearest(name))
		return 0, false
	}
	if s := Vocabulary[i].Scope; !c.scope.sees(s) {
		c.say(name+" belongs to a "+string(s)+", and this rule is asked "+askedWords[c.scope], `set scope = "`+string(s)+`", or use a term of the case`)
		return 0, false
	}
	return i, true
}

// call returns the name and arguments of a call of since, until or known.
func call(n ast.Node) (string, []ast.Node) {
	if k, ok := n.(*ast.CallNode); ok {
		if id, ok := k.Callee.(*ast.IdentifierNode); ok {
			return id.Value, k.Arguments
		}
	}
	return "", nil
}

// member returns "a.b" of a member access.
func member(n ast.Node) (string, bool) {
	m, ok := n.(*ast.MemberNode)
	if !ok || m.Optional {
		return "", false
	}
	id, ok1 := m.Node.(*ast.IdentifierNode)
	p, ok2 := m.Property.(*ast.StringNode)
	if !ok1 || !ok2 {
		return "", false
	}
	return id.Value + "." + p.Value, true
}

func merge(a, b []int) []int {
	for _, x := range b {
		if rank(a, x) == len(a) {
			a = append(a, x)
		}
	}
	return a
}

// nearest suggests the term that shares the longest beginning with a wrong name.
func nearest(name string) string {
	best, n := "", 2
	for _, t := range Vocabulary {
		i := 0
		for i < len(name) && i < len(t.Name) && name[i] == t.Name[i] {
			i++
		}
		if i > n {
			best, n = t.Name, i
		}
	}
	if best == "" {
		return ""
	}
	return "; did you mean " + best + "?"
}
