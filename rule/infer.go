package rule

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/vm"
)

// typed is what is known of a part of a leaf before it is compiled. An empty typ means that a complaint was made.
type typed struct {
	typ   Type
	list  bool
	unit  string // "" for a bare number, which goes with every unit
	term  int    // the term that this is by itself, or -1
	terms []int
	value any    // of a constant
	text  string // in the form that the expression library reads
}

func (t typed) words() string {
	if t.list {
		return "list"
	}
	return string(t.typ)
}

// infer checks one part of a leaf: which nodes are allowed, types, and units of what is compared or added.
func (c *compiler) infer(n ast.Node) typed {
	switch n := n.(type) {
	case *ast.BoolNode:
		return literal(n.Value, "")
	case *ast.IntegerNode:
		return literal(float64(n.Value), "")
	case *ast.FloatNode:
		return literal(n.Value, "")
	case *ast.StringNode:
		return literal(n.Value, "")
	case *ast.IdentifierNode:
		if v, ok := c.values[n.Value]; ok {
			c.used[n.Value] = true
			return literal(v.value, v.unit)
		}
		c.say("there is no value "+n.Value, "add a [[value]] of that name, name a shared one under use, or write a term as GROUP.NAME")
		return typed{}
	case *ast.MemberNode:
		return c.inferTerm(n)
	case *ast.ArrayNode:
		return c.inferList(n)
	case *ast.UnaryNode:
		if n.Operator == "-" || n.Operator == "+" {
			t := c.infer(n.Node)
			if !c.want(t, Number, n.Operator) {
				return typed{}
			}
			t.term, t.text = -1, "("+n.Operator+t.text+")"
			if x, ok := t.value.(float64); ok && n.Operator == "-" {
				t.value = -x
			}
			return t
		}
	case *ast.BinaryNode:
		return c.inferBinary(n)
	}
	if name, _ := call(n); name == "since" || name == "until" {
		c.say("\""+source(n)+"\" stands inside a larger expression",
			"write "+name+"(TERM) < LIMIT by itself, joined to the rest by and, or, not")
		return typed{}
	} else if name == "known" {
		c.say("\""+source(n)+"\" stands inside a larger expression",
			"write known(TERM) by itself, joined to the rest by and, or, not")
		return typed{}
	}
	c.say("\""+source(n)+"\" is not part of the language of rules",
		"use comparisons, + - * /, and, or, not, in, contains, matches, since, until, known")
	return typed{}
}

func (c *compiler) inferTerm(n ast.Node) typed {
	name, ok := member(n)
	if !ok {
		c.say("\""+source(n)+"\" is not a term", "write a term as GROUP.NAME")
		return typed{}
	}
	i, ok := c.find(name)
	if !ok {
		return typed{}
	}
	t := Vocabulary[i]
	if t.Type == Time {
		c.say(name+" is a time and cannot be used by itself", "use since("+name+") or until("+name+"), in hours")
		return typed{}
	}
	unit := t.Unit
	if t.Type == Number && unit == "" {
		unit = "1"
	}
	return typed{typ: t.Type, unit: unit, term: i, terms: []int{i}, text: alias[i]}
}

func (c *compiler) inferList(n *ast.ArrayNode) typed {
	out := typed{list: true, term: -1}
	var parts []string
	for _, k := range n.Nodes {
		t := c.infer(k)
		if t.typ == "" {
			return typed{}
		}
		if t.value == nil || t.list || t.typ == Bool || (out.typ != "" && t.typ != out.typ) {
			c.say("\""+source(n)+"\" mixes things", "a list holds only texts, or only numbers")
			return typed{}
		}
		out.typ, out.unit = t.typ, either(out.unit, t.unit)
		parts = append(parts, t.text)
	}
	if out.typ == "" {
		c.say("an empty list", "put texts or numbers in it")
		return typed{}
	}
	out.text = "[" + strings.Join(parts, ", ") + "]"
	return out
}

func (c *compiler) inferBinary(n *ast.BinaryNode) typed {
	l, r := c.infer(n.Left), c.infer(n.Right)
	if l.typ == "" || r.typ == "" {
		return typed{}
	}
	o := n.Operator
	out := typed{typ: Bool, term: -1, terms: merge(append([]int(nil), l.terms...), r.terms),
		text: "(" + l.text + " " + o + " " + r.text + ")"}
	ok := true
	switch o {
	case "<", "<=", ">", ">=":
		ok = c.want(l, Number, o) && c.want(r, Number, o) && c.sameUnit(l, r, n)
	case "==", "!=":
		if l.typ != r.typ || l.list || r.list {
			c.say(fmt.Sprintf("\"%s\" compares a %s with a %s", source(n), l.words(), r.words()), "compare like with like")
			return typed{}
		}
		ok = c.sameUnit(l, r, n)
	case "+", "-", "*", "/":
		return c.inferArithmetic(n, l, r, out)
	case "in":
		if !r.list || l.list || l.typ != r.typ {
			c.say("\""+source(n)+"\" does not look for a thing in a list of such things", `write TERM in ["a", "b"]`)
			return typed{}
		}
		ok = c.sameUnit(l, r, n)
	case "contains":
		ok = c.want(l, Text, o) && c.want(r, Text, o)
	case "matches":
		ok = c.want(l, Text, o) && c.want(r, Text, o)
		pattern, fixed := r.value.(string)
		if ok && !fixed {
			c.say("the pattern of matches is not fixed", "write the pattern as a text in quotes")
			return typed{}
		}
		if _, err := regexp.Compile(pattern); ok && err != nil {
			c.say("the pattern of matches cannot be read: "+err.Error(), "write a regular expression")
			return typed{}
		}
	default:
		c.say("\""+source(n)+"\" is not part of the language of rules",
			"use comparisons, + - * /, and, or, not, in, contains, matches")
		return typed{}
	}
	if !ok {
		return typed{}
	}
	return out
}

// inferArithmetic allows division by a constant only, so that no leaf can fail when it is computed.
func (c *compiler) inferArithmetic(n *ast.BinaryNode, l, r, out typed) typed {
	if !c.want(l, Number, n.Operator) || !c.want(r, Number, n.Operator) {
		return typed{}
	}
	out.typ, out.unit = Number, either(l.unit, r.unit)
	if n.Operator == "*" || n.Operator == "/" {
		if l.unit != "" && r.unit != "" {
			out.unit = ""
		}
	} else if !c.sameUnit(l, r, n) {
		return typed{}
	}
	if d, fixed := r.value.(float64); n.Operator == "/" && (!fixed || d == 0) {
		c.say("\""+source(n)+"\" divides by something that can be zero", "divide by a number or a named value, or multiply the other side")
		return typed{}
	}
	x, ok1 := l.value.(float64)
	y, ok2 := r.value.(float64)
	if ok1 && ok2 {
		out.value = map[string]float64{"+": x + y, "-": x - y, "*": x * y, "/": x / y}[n.Operator]
		out.text = number(out.value.(float64))
	}
	return out
}

func (c *compiler) want(t typed, typ Type, operator string) bool {
	if t.typ == typ && !t.list {
		return true
	}
	if t.typ != "" {
		c.say(fmt.Sprintf("%s needs a %s and has a %s", operator, typ, t.words()), "compare like with like")
	}
	return false
}

func (c *compiler) sameUnit(l, r typed, n ast.Node) bool {
	if l.unit == "" || r.unit == "" || l.unit == r.unit {
		return true
	}
	c.say(fmt.Sprintf("\"%s\" puts %s against %s", source(n), l.unit, r.unit), "give both in the same unit")
	return false
}

func either(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// literal is a constant. Integers become floats, as all terms are.
func literal(v any, unit string) typed {
	t := typed{term: -1, value: v, unit: unit}
	switch v := v.(type) {
	case bool:
		t.typ, t.text = Bool, strconv.FormatBool(v)
	case float64:
		t.typ, t.text = Number, number(v)
	case string:
		t.typ, t.text = Text, strconv.Quote(v)
	case []string:
		t.typ, t.list, t.value = Text, true, nil
		parts := make([]string, len(v))
		for i := range v {
			parts[i] = strconv.Quote(v[i])
		}
		t.text = "[" + strings.Join(parts, ", ") + "]"
	case []float64:
		t.typ, t.list, t.value = Number, true, nil
		parts := make([]string, len(v))
		for i := range v {
			parts[i] = number(v[i])
		}
		t.text = "[" + strings.Join(parts, ", ") + "]"
	}
	return t
}

func number(x float64) string {
	s := strconv.FormatFloat(x, 'g', -1, 64)
	if !strings.ContainsAny(s, ".e") {
		s += ".0"
	}
	if x < 0 {
		return "(" + s + ")"
	}
	return s
}

// program compiles a part of a leaf; the library checks the types once more.
func (c *compiler) program(t typed, typ Type, n ast.Node) *vm.Program {
	env := make(map[string]any, len(t.terms))
	for _, i := range t.terms {
		env[alias[i]] = map[Type]any{Bool: false, Number: 0.0, Text: ""}[Vocabulary[i].Type]
	}
	as := expr.AsBool()
	if typ == Number {
		as = expr.AsFloat64()
	}
	p, err := expr.Compile(t.text, expr.Env(env), as)
	if err != nil {
		line, _, _ := strings.Cut(err.Error(), "\n")
		c.say("\""+source(n)+"\" cannot be compiled: "+line, "write it more simply")
	}
	return p
}

// source prints a part of an expression as it was written, as nearly as the library keeps it.
func source(n ast.Node) string { return n.String() }
