package main

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"math"
	"strconv"
	"strings"
)

// mutant is one small change of a package's source.
type mutant struct {
	// ID numbers the mutants of a package from 1.
	ID int `json:"id"`
	// File, Func and Line are where it is; Func is empty outside of functions.
	File string `json:"file"`
	Func string `json:"func"`
	Line int    `json:"line"`
	// Was is the source that changes, in the least expression around it; Now what it changes to.
	Was string `json:"was"`
	Now string `json:"now"`
	// Named tells that it changes the value of a constant with a name.
	Named bool `json:"named"`
	// Nth counts mutants of one function with the same change, from 1.
	Nth int `json:"nth"`

	lit *ast.BasicLit // of a changed number
	to  string        // what the number becomes
}

// key names a mutant in the list of accepted ones: it stays when lines move.
func (m *mutant) key() string {
	k := m.File + " " + m.Func + ": " + m.Was + " -> " + m.Now
	if m.Nth > 1 {
		k += " #" + strconv.Itoa(m.Nth)
	}
	return k
}

// finder finds the mutants of a package's files and rewrites them so that each can be switched on.
type finder struct {
	fset *token.FileSet
	info *types.Info
	pkg  *types.Package

	file    string
	src     []byte
	syntax  *ast.File
	fun     string
	all     []*mutant
	edits   []edit
	names   map[string]int
	imports map[string]string // by path, the name in this file

	// byConst are the mutants that change a named constant, its own and those of the constants it is made of.
	byConst map[types.Object][]*mutant
	// saved are the edits for named constants, which are found in the order in which they depend on each other.
	saved map[*ast.File][]edit
	// broken are mutants that did not compile: they are counted and left out.
	broken map[int]bool
}

// edit replaces the source from lo to hi.
type edit struct {
	lo, hi int
	text   func() string
	done   bool
}

func (f *finder) at(p token.Pos) int                  { return f.fset.Position(p).Offset }
func (f *finder) raw(n ast.Node) string               { return string(f.src[f.at(n.Pos()):f.at(n.End())]) }
func (f *finder) line(p token.Pos) int                { return f.fset.Position(p).Line }
func oneLine(s string) string                         { return strings.Join(strings.Fields(s), " ") }
func (f *finder) value(e ast.Expr) types.TypeAndValue { return f.info.Types[e] }

func (f *finder) add(n ast.Node, was, now string) *mutant {
	m := &mutant{ID: len(f.all) + 1, File: f.file, Func: f.fun, Line: f.line(n.Pos()), Was: oneLine(was), Now: oneLine(now)}
	f.names[m.key()]++
	m.Nth = f.names[m.key()]
	f.all = append(f.all, m)
	return m
}

func (f *finder) edit(n ast.Node, text func() string) {
	f.edits = append(f.edits, edit{lo: f.at(n.Pos()), hi: f.at(n.End()), text: text})
}

// consts finds the mutants of all named constants of the package's files, and says what each becomes.
func (f *finder) consts(files []*ast.File, open func(*ast.File)) {
	type spec struct {
		file *ast.File
		fun  string
		name *ast.Ident
		kind ast.Expr
		expr ast.Expr
		end  token.Pos
		own  bool // stands in a declaration without parentheses
	}
	var list []spec
	for _, file := range files {
		fun := ""
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.FuncDecl:
				fun = funcName(n)
			case *ast.GenDecl:
				if n.Tok == token.VAR || n.Tok == token.TYPE {
					if !nested(file, n) {
						fun = ""
					}
					return true
				}
				if n.Tok != token.CONST || usesIota(n) {
					return n.Tok != token.CONST
				}
				if !nested(file, n) {
					fun = ""
				}
				for _, s := range n.Specs {
					v := s.(*ast.ValueSpec)
					for i, name := range v.Names {
						if i < len(v.Values) && len(v.Names) == 1 {
							list = append(list, spec{file, fun, name, v.Type, v.Values[i], v.End(), !n.Lparen.IsValid()})
						}
					}
				}
				return false
			}
			return true
		})
	}
	// A constant may stand before those it is made of: go round until nothing is new.
	mine := map[types.Object]bool{}
	for _, s := range list {
		mine[f.info.Defs[s.name]] = true
	}
	done := map[types.Object]bool{}
	for again := true; again; {
		again = false
		for _, s := range list {
			obj := f.info.Defs[s.name]
			ready := !done[obj]
			ast.Inspect(s.expr, func(n ast.Node) bool {
				if id, ok := n.(*ast.Ident); ok && mine[f.info.Uses[id]] && !done[f.info.Uses[id]] {
					ready = false
				}
				return true
			})
			if !ready {
				continue
			}
			done[obj], again = true, true
			open(s.file)
			f.fun = s.fun
			if s.fun == "" {
				f.fun = s.name.Name
			}
			muts := f.ofConst(s.expr, true)
			f.byConst[obj] = muts
			if len(muts) == 0 {
				continue
			}
			kind := ""
			if s.kind != nil {
				kind = " " + f.raw(s.kind)
			}
			var b strings.Builder
			for _, m := range muts {
				if f.broken[m.ID] {
					continue
				}
				if s.own {
					b.WriteString("\nconst ")
				} else {
					b.WriteString("\n")
				}
				fmt.Fprintf(&b, "%s%s = %s", variant(s.name.Name, m), kind, f.with(s.expr, m))
			}
			end := f.at(s.end)
			text := b.String()
			f.edits = append(f.edits, edit{lo: end, hi: end, text: func() string { return text }})
			f.saved[s.file] = append(f.saved[s.file], f.edits...)
			f.edits = nil
		}
	}
}

func variant(name string, m *mutant) string { return name + "__m" + strconv.Itoa(m.ID) }

func nested(file *ast.File, n ast.Node) bool {
	for _, d := range file.Decls {
		if d == n {
			return false
		}
	}
	return true
}

func funcName(d *ast.FuncDecl) string {
	if d.Recv == nil || len(d.Recv.List) == 0 {
		return d.Name.Name
	}
	t := d.Recv.List[0].Type
	if s, ok := t.(*ast.StarExpr); ok {
		t = s.X
	}
	if x, ok := t.(*ast.IndexExpr); ok {
		t = x.X
	}
	if id, ok := t.(*ast.Ident); ok {
		return id.Name + "." + d.Name.Name
	}
	return d.Name.Name
}

func usesIota(d *ast.GenDecl) bool {
	found := false
	for _, s := range d.Specs {
		if len(s.(*ast.ValueSpec).Values) == 0 {
			found = true
		}
	}
	ast.Inspect(d, func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok && id.Name == "iota" {
			found = true
		}
		return true
	})
	return found
}

// ofConst finds the mutants of a constant expression: two of each number in it, and those of the constants that it names.
func (f *finder) ofConst(e ast.Expr, named bool) []*mutant {
	var out []*mutant
	seen := map[*mutant]bool{}
	ast.Inspect(e, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BasicLit:
			for _, to := range others(n, f.value(e).Type) {
				m := f.add(n, f.raw(e), f.swap(e, n, to))
				m.lit, m.to, m.Named = n, to, named
				out = append(out, m)
			}
		case *ast.Ident:
			for _, m := range f.byConst[f.info.Uses[n]] {
				if !seen[m] {
					seen[m] = true
					out = append(out, m)
				}
			}
		}
		return true
	})
	return out
}

// others are what a number is changed to: a quarter more and a fifth less, or one more and one less where it is a small
// count. Next to nothing, which only guards against rounding, becomes a thousandth; no duration becomes a minute.
func others(l *ast.BasicLit, t types.Type) []string {
	switch l.Kind {
	case token.INT:
		n, err := strconv.ParseInt(l.Value, 0, 64)
		switch {
		case err != nil:
			return nil
		case n == 0 && t != nil && t.String() == "time.Duration":
			return []string{"60_000_000_000"}
		case n == 0:
			return []string{"1"}
		case n == 1:
			return []string{"2", "0"}
		case n < 8:
			return []string{strconv.FormatInt(n+1, 10), strconv.FormatInt(n-1, 10)}
		}
		return []string{strconv.FormatInt(int64(math.Round(1.25*float64(n))), 10), strconv.FormatInt(int64(math.Round(0.8*float64(n))), 10)}
	case token.FLOAT:
		x, err := strconv.ParseFloat(l.Value, 64)
		switch {
		case err != nil:
			return nil
		case x == 0:
			return []string{"0.01"}
		case x < 1e-5:
			return []string{"0.001"}
		}
		return []string{number(1.25 * x), number(0.8 * x)}
	}
	return nil
}

// number writes a float so that it stays one.
func number(x float64) string {
	s := strconv.FormatFloat(x, 'g', 6, 64)
	if !strings.ContainsAny(s, ".e") {
		s += ".0"
	}
	return s
}

// swap is the source of an expression with one node replaced.
func (f *finder) swap(e ast.Expr, n ast.Node, to string) string {
	lo, hi := f.at(e.Pos()), f.at(e.End())
	return string(f.src[lo:f.at(n.Pos())]) + to + string(f.src[f.at(n.End()):hi])
}

// with is the source of a constant expression as a mutant has it.
func (f *finder) with(e ast.Expr, m *mutant) string {
	lo, hi := f.at(e.Pos()), f.at(e.End())
	var b strings.Builder
	last := lo
	put := func(n ast.Node, to string) {
		b.Write(f.src[last:f.at(n.Pos())])
		b.WriteString(to)
		last = f.at(n.End())
	}
	ast.Inspect(e, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BasicLit:
			if n == m.lit {
				put(n, m.to)
			}
		case *ast.Ident:
			for _, of := range f.byConst[f.info.Uses[n]] {
				if of == m {
					put(n, variant(n.Name, m))
				}
			}
		}
		return true
	})
	b.Write(f.src[last:hi])
	return b.String()
}

// typeName is how the file writes a type, and whether it can.
func (f *finder) typeName(t types.Type) (string, bool) {
	t = types.Default(t)
	ok := true
	s := types.TypeString(t, func(p *types.Package) string {
		if p == f.pkg {
			return ""
		}
		name, there := f.imports[p.Path()]
		ok = ok && there
		return name
	})
	return s, ok && !strings.Contains(s, "untyped")
}

func numeric(t types.Type) bool {
	b, ok := t.Underlying().(*types.Basic)
	return ok && b.Info()&types.IsNumeric != 0 && b.Info()&types.IsComplex == 0
}

// find walks a file for all that is no named constant.
func (f *finder) find() {
	var walk func(n ast.Node) bool
	each := func(list ...ast.Expr) {
		for _, e := range list {
			if e != nil {
				ast.Inspect(e, walk)
			}
		}
	}
	walk = func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GenDecl:
			return n.Tok == token.VAR
		case *ast.IndexExpr: // places in a list are no thresholds
			each(n.X)
			if f.value(n.Index).Value == nil {
				each(n.Index)
			}
			return false
		case *ast.SliceExpr:
			each(n.X)
			for _, i := range []ast.Expr{n.Low, n.High, n.Max} {
				if i != nil && f.value(i).Value == nil {
					each(i)
				}
			}
			return false
		case *ast.ForStmt:
			if n.Init != nil {
				f.start(n.Init, each)
			}
			if n.Cond != nil {
				each(n.Cond)
			}
			if n.Post != nil {
				ast.Inspect(n.Post, walk)
			}
			ast.Inspect(n.Body, walk)
			return false
		case *ast.ReturnStmt: // a zero beside another result says nothing
			for _, e := range n.Results {
				if tv := f.value(e); len(n.Results) == 1 || tv.Value == nil || constant.Sign(constant.ToFloat(tv.Value)) != 0 {
					each(e)
				}
			}
			return false
		case *ast.ArrayType: // its length must be a constant
			each(n.Elt)
			return false
		case *ast.CompositeLit:
			f.literal(n, each)
			return false
		case *ast.CallExpr:
			if f.leftOut(n) {
				return false
			}
			if id, ok := n.Fun.(*ast.Ident); ok && id.Name == "make" {
				// How much room is made ahead changes nothing.
				if _, list := f.value(n).Type.Underlying().(*types.Slice); list && len(n.Args) > 1 {
					each(n.Args[1])
				}
				return false
			}
		}
		e, ok := n.(ast.Expr)
		if !ok {
			return true
		}
		if tv := f.value(e); tv.Value != nil {
			f.number(e, tv)
			return false
		}
		switch e := e.(type) {
		case *ast.BinaryExpr:
			f.binary(e)
		case *ast.UnaryExpr:
			if e.Op == token.NOT {
				m := f.add(e, f.raw(e), f.raw(e.X))
				f.edit(e, func() string { return fmt.Sprintf("(%s != mutantIs(%d))", f.inside(e), m.ID) })
			}
		case *ast.CallExpr:
			f.before(e)
		}
		return true
	}
	for _, d := range f.syntax.Decls {
		f.fun = ""
		switch d := d.(type) {
		case *ast.FuncDecl:
			f.fun = funcName(d)
			if d.Body != nil {
				ast.Inspect(d.Body, walk)
			}
		case *ast.GenDecl:
			if d.Tok == token.VAR {
				for _, s := range d.Specs {
					f.fun = s.(*ast.ValueSpec).Names[0].Name
					each(s.(*ast.ValueSpec).Values...)
				}
			}
		}
	}
}

// start is how a loop begins: where is no threshold, what is computed for it may hold one.
func (f *finder) start(s ast.Stmt, each func(...ast.Expr)) {
	if a, ok := s.(*ast.AssignStmt); ok {
		for _, e := range a.Rhs {
			if f.value(e).Value == nil {
				each(e)
			}
		}
	}
}

// leftOut are calls in which a number changes nothing that anybody could see.
func (f *finder) leftOut(c *ast.CallExpr) bool {
	s, ok := c.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	id, ok := s.X.(*ast.Ident)
	if !ok {
		return false
	}
	switch id.Name + "." + s.Sel.Name {
	case "math.Inf", "math.IsInf", "strconv.ParseFloat", "strconv.ParseInt", "strconv.ParseUint", "strconv.FormatFloat", "strconv.FormatInt":
		return true
	}
	return id.Name == "errors" || id.Name == "slices" && s.Sel.Name == "Grow"
}

// literal leaves the keys of arrays alone: they must be constants.
func (f *finder) literal(n *ast.CompositeLit, each func(...ast.Expr)) {
	_, isMap := f.value(n).Type.Underlying().(*types.Map)
	for _, e := range n.Elts {
		kv, ok := e.(*ast.KeyValueExpr)
		switch {
		case !ok:
			each(e)
		case isMap:
			each(kv.Key, kv.Value)
		default:
			each(kv.Value)
		}
	}
}

// number changes the numbers of a constant expression where it is used.
func (f *finder) number(e ast.Expr, tv types.TypeAndValue) {
	if !numeric(tv.Type) || tv.Value.Kind() == constant.String {
		return
	}
	name, ok := f.typeName(tv.Type)
	if !ok {
		return
	}
	muts := f.ofConst(e, false)
	if len(muts) == 0 {
		return
	}
	f.edit(e, func() string {
		s := f.raw(e)
		for _, m := range muts {
			if f.broken[m.ID] {
				continue
			}
			s = fmt.Sprintf("mutantOr[%s](%d, %s, %s)", name, m.ID, f.with(e, m), s)
		}
		return s
	})
}

var turned = map[token.Token]token.Token{token.LSS: token.GEQ, token.GEQ: token.LSS, token.GTR: token.LEQ, token.LEQ: token.GTR, token.EQL: token.NEQ, token.NEQ: token.EQL}
var edge = map[token.Token]token.Token{token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR}

func (f *finder) binary(e *ast.BinaryExpr) {
	was := f.raw(e)
	other := func(op token.Token) string { return f.raw(e.X) + " " + op.String() + " " + f.raw(e.Y) }
	if op, ok := turned[e.Op]; ok {
		turn := f.add(e, was, other(op))
		over, isEdge := edge[e.Op]
		if !isEdge {
			f.edit(e, func() string { return fmt.Sprintf("((%s) != mutantIs(%d))", f.inside(e), turn.ID) })
			return
		}
		m := f.add(e, was, other(over))
		f.edit(e, func() string {
			if f.broken[m.ID] || f.broken[turn.ID] {
				return f.inside(e)
			}
			same := fmt.Sprintf("mutantIs(%d) && (%s) == (%s)", m.ID, f.raw(e.X), f.raw(e.Y))
			if e.Op == token.LSS || e.Op == token.GTR {
				return fmt.Sprintf("((%s || %s) != mutantIs(%d))", f.inside(e), same, turn.ID)
			}
			return fmt.Sprintf("((%s && !(%s)) != mutantIs(%d))", f.inside(e), same, turn.ID)
		})
		return
	}
	if e.Op != token.ADD && e.Op != token.SUB {
		return
	}
	tv := f.value(e)
	name, ok := f.typeName(tv.Type)
	if !ok || !numeric(tv.Type) {
		return
	}
	op, call := token.SUB, "mutantPlus"
	if e.Op == token.SUB {
		op, call = token.ADD, "mutantMinus"
	}
	m := f.add(e, was, other(op))
	f.edit(e, func() string {
		if f.broken[m.ID] {
			return f.inside(e)
		}
		return fmt.Sprintf("%s[%s](%d, %s, %s)", call, name, m.ID, f.render(e.X), f.render(e.Y))
	})
}

// before moves the edge of a comparison of times: a.After(b) also holds, or no longer holds, at b.
func (f *finder) before(e *ast.CallExpr) {
	s, ok := e.Fun.(*ast.SelectorExpr)
	if !ok || len(e.Args) != 1 || s.Sel.Name != "Before" && s.Sel.Name != "After" {
		return
	}
	if t := f.value(s.X).Type; t == nil || t.String() != "time.Time" && t.String() != "*time.Time" {
		return
	}
	x, y := f.raw(s.X), f.raw(e.Args[0])
	turn := f.add(e, f.raw(e), "!"+f.raw(e))
	m := f.add(e, f.raw(e), f.raw(e)+" || "+x+".Equal("+y+")")
	f.edit(e, func() string {
		return fmt.Sprintf("((%s || mutantIs(%d) && (%s).Equal(%s)) != mutantIs(%d))", f.inside(e), m.ID, x, y, turn.ID)
	})
}

// render is the source of an expression with the edits inside it, and its own.
func (f *finder) render(n ast.Node) string { return f.between(f.at(n.Pos()), f.at(n.End()), false) }

// inside is the source of an expression with the edits inside it, without its own.
func (f *finder) inside(n ast.Node) string { return f.between(f.at(n.Pos()), f.at(n.End()), true) }

// between applies the outermost edits within a range of the source; inner leaves out one that spans the whole range.
func (f *finder) between(lo, hi int, inner bool) string {
	var b strings.Builder
	last := lo
	for {
		var best *edit
		for i := range f.edits {
			e := &f.edits[i]
			if e.done || e.lo < last || e.hi > hi || inner && e.lo == lo && e.hi == hi {
				continue
			}
			if best == nil || e.lo < best.lo || e.lo == best.lo && e.hi > best.hi {
				best = e
			}
		}
		if best == nil {
			break
		}
		b.Write(f.src[last:best.lo])
		best.done = best.lo == best.hi // an insertion is made once
		b.WriteString(best.text())
		last = best.hi
	}
	b.Write(f.src[last:hi])
	return b.String()
}
