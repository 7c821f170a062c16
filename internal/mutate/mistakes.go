package main

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"hash/fnv"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// mistake is one edit of one file: what stands from byte from up to byte to becomes wrong.
type mistake struct {
	file, function, what string
	nth                  int // of its like in the function, from 1
	from, to             int
	wrong                string
}

// String names a mistake for good: no line numbers, which change with every edit.
func (m mistake) String() string {
	return fmt.Sprintf("%s %s: %s #%d", filepath.ToSlash(m.file), m.function, m.what, m.nth)
}

func (m mistake) in(src []byte) []byte {
	return slices.Concat(src[:m.from], []byte(m.wrong), src[m.to:])
}

var (
	swapped = map[token.Token]string{
		token.ADD: "-", token.SUB: "+", token.MUL: "/", token.QUO: "*",
		token.LSS: ">=", token.LEQ: ">", token.GTR: "<=", token.GEQ: "<", token.EQL: "!=", token.NEQ: "==",
		token.LAND: "||", token.LOR: "&&",
	}
	swappedAssign = map[token.Token]string{token.ADD_ASSIGN: "-=", token.SUB_ASSIGN: "+=", token.MUL_ASSIGN: "/=", token.QUO_ASSIGN: "*="}
)

// mistakes are all that can be made in a package, in the order of its text. Neighbours of
// a comparison (< for <=) are left out: among real numbers hardly any can be noticed. So are
// imports, types, joined texts, whole numbers and panics.
func mistakes(dir, only string) (all []mistake, err error) {
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("%s: no Go files", dir)
	}
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		src, err := os.ReadFile(f)
		if err != nil {
			return nil, err
		}
		some, err := mistakesIn(f, src)
		if err != nil {
			return nil, err
		}
		for _, m := range some {
			if strings.Contains(m.String(), only) {
				all = append(all, m)
			}
		}
	}
	return all, nil
}

// mistakesIn are those of one file.
func mistakesIn(file string, src []byte) (all []mistake, err error) {
	set := token.NewFileSet()
	tree, err := parser.ParseFile(set, file, src, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	for _, d := range tree.Decls {
		function := "declarations"
		switch d := d.(type) {
		case *ast.FuncDecl:
			function = d.Name.Name
			if d.Recv != nil {
				function = owner(d.Recv.List[0].Type) + "." + function
			}
		case *ast.GenDecl:
			if d.Tok == token.IMPORT || d.Tok == token.TYPE {
				continue
			}
		}
		seen := map[string]int{}
		add := func(from, to token.Pos, wrong, what string) {
			seen[what]++
			all = append(all, mistake{
				file: file, function: function, what: what, nth: seen[what],
				from: set.Position(from).Offset, to: set.Position(to).Offset, wrong: wrong,
			})
		}
		text := func(n ast.Node) string {
			return string(src[set.Position(n.Pos()).Offset:set.Position(n.End()).Offset])
		}
		ast.Inspect(d, func(n ast.Node) bool { mistakesAt(n, text, add); return true })
	}
	return all, nil
}

func owner(receiver ast.Expr) string {
	switch t := receiver.(type) {
	case *ast.StarExpr:
		return owner(t.X)
	case *ast.Ident:
		return t.Name
	}
	return "?" // of a type with parameters
}

func mistakesAt(n ast.Node, text func(ast.Node) string, add func(from, to token.Pos, wrong, what string)) {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		if s, ok := swapped[n.Op]; ok && !isText(n.X) && !isText(n.Y) {
			add(n.OpPos, n.OpPos+token.Pos(len(n.Op.String())), s, n.Op.String()+" to "+s)
		}
	case *ast.AssignStmt:
		if s, ok := swappedAssign[n.Tok]; ok {
			add(n.TokPos, n.TokPos+2, s, n.Tok.String()+" to "+s)
		}
	case *ast.BasicLit:
		if n.Kind == token.FLOAT && strings.Trim(n.Value, "0.") != "" {
			add(n.Pos(), n.End(), "("+n.Value+"*1.5)", n.Value+" times 1.5")
		}
	case *ast.IfStmt:
		if n.Init == nil { // both sides stay in the text, so that every name is still used
			add(n.Cond.Pos(), n.Cond.End(), "false && ("+text(n.Cond)+")", "if never")
		}
	case *ast.ExprStmt:
		if name := called(n.X); name != "" && name != "panic" {
			add(n.Pos(), n.End(), "_ = 0", name+" left out")
		}
	}
}

func isText(x ast.Expr) bool {
	l, ok := x.(*ast.BasicLit)
	return ok && (l.Kind == token.STRING || l.Kind == token.CHAR)
}

func called(x ast.Expr) string {
	c, ok := x.(*ast.CallExpr)
	if !ok {
		return ""
	}
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return "a call"
}

// shuffle orders mistakes by a hash of the seed and their names.
func shuffle(all []mistake, seed uint64) {
	key := func(m mistake) uint64 {
		h := fnv.New64a()
		fmt.Fprintf(h, "%d %s", seed, m)
		x := h.Sum64() // what differs in the last letters alone has alike high bits: mix (splitmix64)
		x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
		x = (x ^ x>>27) * 0x94d049bb133111eb
		return x ^ x>>31
	}
	slices.SortFunc(all, func(a, b mistake) int { return cmp.Compare(key(a), key(b)) })
}
