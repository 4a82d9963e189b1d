package main

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const root = "../.."

// edges lists what each package may import of ours. Data flows one way:
// report, analysis, composition, plan, rendering.
var edges = map[string][]string{
	"schemas":                     {},
	"chem/unit":                   {},
	"chem/analyte":                {"chem/unit"},
	"chem/analysis":               {"chem/unit", "chem/analyte"},
	"chem/labreport":              {"chem/unit", "chem/analyte", "chem/analysis", "schemas"},
	"chem/water":                  {"chem/unit", "chem/analyte", "chem/analysis"},
	"chem/bed":                    {"chem/unit", "chem/analyte", "chem/water"},
	"chem/process":                {"chem/unit", "chem/analyte", "chem/water", "chem/bed"},
	"rules":                       {"chem/unit", "chem/analyte", "chem/analysis", "chem/water", "chem/bed", "chem/process", "schemas"},
	"cmd/forebed/internal/chart":  {},
	"cmd/forebed/internal/riglog": {"chem", "rules", "schemas", "cmd/forebed/internal/chart", "cmd/forebed/internal/render"},
	"cmd/forebed/internal/engine": {"chem", "rules", "schemas"},
	"cmd/forebed/internal/render": {"chem", "rules", "schemas", "cmd/forebed/internal/chart", "cmd/forebed/internal/engine"},
	"cmd/forebed/internal/batch":  {"chem", "rules", "schemas", "cmd/forebed/internal/engine", "cmd/forebed/internal/render"},
	"cmd/forebed/internal/web":    {"chem", "rules", "schemas", "cmd/forebed/internal"},
	"cmd/forebed":                 {"chem", "rules", "schemas", "cmd/forebed/internal"},
}

// banned lists what no package below cmd may import: files, network, clock.
// (package time is allowed for durations and calendar arithmetic; a call of
// time.Now is caught below.)
var banned = []string{"os", "net", "net/http", "os/exec", "log", "log/slog", "flag"}

type pkg struct {
	ImportPath string
	Imports    []string
}

func packages(t *testing.T) []pkg {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "./...")
	cmd.Dir = root
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []pkg
	dec := json.NewDecoder(strings.NewReader(string(out)))
	for {
		var p pkg
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

// ruleFor finds the edges of a package or of its nearest listed parent.
func ruleFor(path string) (allowed []string, ok bool) {
	for p := path; p != "." && p != ""; p = filepath.ToSlash(filepath.Dir(p)) {
		if a, ok := edges[p]; ok {
			return append(slices.Clone(a), p), true
		}
	}
	return nil, false
}

func TestImportsPointOneWay(t *testing.T) {
	for _, p := range packages(t) {
		self := strings.TrimPrefix(p.ImportPath, "forebed/")
		allowed, ok := ruleFor(self)
		if !ok {
			t.Errorf("package %s is not in the map of the house; add its edges", self)
			continue
		}
		for _, i := range p.Imports {
			ours, isOurs := strings.CutPrefix(i, "forebed/")
			if isOurs && !slices.ContainsFunc(allowed, func(a string) bool { return ours == a || strings.HasPrefix(ours, a+"/") }) {
				t.Errorf("%s imports %s, which is not one of its edges", self, ours)
			}
			if !strings.HasPrefix(self, "cmd/") && slices.Contains(banned, i) {
				t.Errorf("%s imports %s: no files, network, clock or logger below cmd", self, i)
			}
		}
	}
}

func TestTopLevel(t *testing.T) {
	want := []string{"DEVELOPERS.md", "README.md", "chem", "cmd", "go.mod", "go.sum", "rules", "schemas", "testdata"}
	entries, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && !slices.Contains(want, e.Name()) {
			t.Errorf("%s stands at the top level, which holds only %v", e.Name(), want)
		}
	}
}

// TestBenchmarksReportAllocations walks the tests: every benchmark, and every
// part of one, counts allocations.
func TestBenchmarksReportAllocations(t *testing.T) {
	fset := token.NewFileSet()
	seen := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(fset, path, nil, 0)
		if err != nil {
			return err
		}
		for _, decl := range f.Decls {
			fn, ok := decl.(*ast.FuncDecl)
			if !ok || !strings.HasPrefix(fn.Name.Name, "Benchmark") {
				continue
			}
			seen++
			calls := map[string]int{}
			ast.Inspect(fn, func(n ast.Node) bool {
				if sel, ok := n.(*ast.SelectorExpr); ok {
					calls[sel.Sel.Name]++
				}
				return true
			})
			if calls["Loop"] == 0 || calls["ReportAllocs"] < calls["Loop"] {
				t.Errorf("%s: %s has %d loops and %d calls of ReportAllocs", fset.Position(fn.Pos()), fn.Name.Name, calls["Loop"], calls["ReportAllocs"])
			}
		}
		return nil
	})
	if err != nil || seen < 20 {
		t.Errorf("%d benchmarks, %v", seen, err)
	}
}

// TestHouseRules walks the source: every exported identifier has a comment,
// every package a doc.go that asks its question, and no package below cmd
// reads the clock or the environment.
func TestHouseRules(t *testing.T) {
	fset := token.NewFileSet()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if strings.HasPrefix(d.Name(), ".") && d.Name() != ".." && path != root || d.Name() == "testdata" {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		for _, decl := range f.Decls {
			undocumented(t, fset, decl)
		}
		if !strings.Contains(filepath.ToSlash(path), "/cmd/") {
			ast.Inspect(f, func(n ast.Node) bool {
				if sel, ok := n.(*ast.SelectorExpr); ok {
					if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && (sel.Sel.Name == "Now" || sel.Sel.Name == "Since") {
						t.Errorf("%s: reads the clock", fset.Position(n.Pos()))
					}
				}
				return true
			})
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func undocumented(t *testing.T, fset *token.FileSet, decl ast.Decl) {
	switch d := decl.(type) {
	case *ast.FuncDecl:
		if d.Name.IsExported() && exportedReceiver(d) && d.Doc == nil {
			t.Errorf("%s: %s has no comment", fset.Position(d.Pos()), d.Name.Name)
		}
	case *ast.GenDecl:
		for _, spec := range d.Specs {
			switch s := spec.(type) {
			case *ast.TypeSpec:
				if s.Name.IsExported() && d.Doc == nil && s.Doc == nil {
					t.Errorf("%s: %s has no comment", fset.Position(s.Pos()), s.Name.Name)
				}
			case *ast.ValueSpec:
				for _, n := range s.Names {
					if n.IsExported() && d.Doc == nil && s.Doc == nil && s.Comment == nil {
						t.Errorf("%s: %s has no comment", fset.Position(s.Pos()), n.Name)
					}
				}
			}
		}
	}
}

func exportedReceiver(d *ast.FuncDecl) bool {
	if d.Recv == nil || len(d.Recv.List) == 0 {
		return true
	}
	x := d.Recv.List[0].Type
	if s, ok := x.(*ast.StarExpr); ok {
		x = s.X
	}
	id, ok := x.(*ast.Ident)
	return ok && id.IsExported()
}
