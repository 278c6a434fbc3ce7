package main

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// mayImport says which packages of this module a package may import. "unit" stands for itself everywhere. A
// package that is not listed must not exist: add it here with a reason.
var mayImport = map[string]string{
	"lowtide":               "cli",
	"unit":                  "",
	"equipment":             "unit",
	"casebook":              "unit",
	"casebook/memory":       "casebook",
	"casebook/browser":      "casebook casebook/memory", // compiled for browsers only
	"casebook/sqlite":       "casebook casebook/sqlite/migrations",
	"casebook/storetest":    "casebook",
	"seal":                  "casebook",
	"backup":                "casebook casebook/sqlite seal accesslog", // what a backup holds is a store of this kind, and its access log
	"account":               "unit casebook",
	"account/gen":           "account",
	"rule/gen":              "rule",
	"passkey":               "account",
	"meeting":               "unit casebook intake", // checks what a device sends as a form is checked
	"accesslog":             "unit casebook",
	"therapy":               "unit",
	"suction":               "unit therapy", // the only computing package that may use another
	"power":                 "unit",
	"fluid":                 "unit",
	"outline":               "unit",
	"tests/aloud":           "", // forms of words that no nurse would say
	"outline/painted":       "", // invented wounds with exact masks, for tests and evidence
	"healing":               "unit",
	"pumplog":               "unit",
	"supply":                "unit",
	"route":                 "",
	"week":                  "unit casebook route fluid",
	"evidence/weekgen":      "week fluid",
	"evidence/cmd/week":     "*",
	"road":                  "week", // asks the agency's own road server; only cli makes one
	"payer":                 "",     // also read by rule, whose pack holds the policies
	"stock":                 "unit casebook",
	"trouble":               "unit",
	"rule":                  "unit payer rule/value",
	"rule/value":            "unit", // the shared numbers in force, for everybody who needs one
	"rule/hazard":           "",     // the ways in which the program could hurt somebody, as data
	"intake":                "unit casebook",
	"state/memo":            "", // remembers what pure functions gave
	"state":                 "unit casebook rule/value equipment therapy suction power fluid outline healing supply payer stock trouble pumplog state/memo",
	"review":                "unit casebook rule rule/value state",
	"caseload":              "unit casebook rule equipment state review stock trouble supply healing week",
	"chart":                 "unit state",
	"wording":               "unit casebook state intake", // state names what a call asked and found, intake reads the tags of a body
	"web":                   "meeting pumplog web/static unit casebook caseload state review rule equipment intake chart account accesslog stock web/page report wording rule/value week rule/hazard",
	"web/static":            "",
	"web/page":              "web/static unit casebook caseload state review rule equipment intake chart account accesslog stock report wording rule/value week rule/hazard",
	"bedside":               "*", // the program in the browser: it puts together what cli does on a server
	"bedside/packed":        "",  // the program built for browsers, embedded or made from the source
	"bedside/packed/make":   "bedside/packed",
	"demo":                  "unit casebook stock pumplog week",
	"report/fhir":           "unit casebook rule review intake", // intake says which fields a kind needs
	"report":                "unit casebook caseload state review rule equipment chart wording rule/value",
	"report/pdf":            "report chart",
	"report/csv":            "unit casebook state review rule",
	"cli":                   "*",
	"evidence":              "*",
	"evidence/cmd/suction":  "*",
	"evidence/cmd/fluid":    "*",
	"evidence/cmd/healing":  "*",
	"evidence/cmd/trouble":  "*",
	"evidence/cmd/edges":    "*",
	"evidence/cmd/evidence": "*",
	"evidence/cmd/outline":  "*",
	"evidence/scene":        "outline", // paints what the outline measures
	"evidence/cmd/pumplog":  "*",
	"evidence/casegen":      "unit casebook intake pumplog equipment rule trouble", // invents cases for laws and for comparing two programs
	"evidence/kept":         "",                                                    // what a package said before of invented inputs
	"evidence/logsim":       "pumplog suction therapy",
	"evidence/quiet":        "casebook equipment state review rule", // stable patients, and what is said of them
	"evidence/cmd/quiet":    "*",
	"evidence/planlaw":      "review rule trouble", // holds what is said of a case to the law of the plan
	"demo/photo/gen":        "*",
	"docs/format/gen":       "casebook intake",
	"docs/hazards/gen":      "rule/hazard",
	"tests/shots":           "*",
	"tests/rulestart":       "rule",
	"tests/processor":       "", // what benchmarks measure by
	"tests/differ":          "casebook intake demo evidence/casegen",
	"tests/differ/dump":     "cli",
	"tests/mutate":          "",
	"licence":               "", // the licences of the parts of others
	"licence/gen":           "licence",
	"tests/release":         "licence",
	"tests/fuzz":            "",
}

// computing packages are pure: no files, network, clock, environment or randomness of their own.
var computing = map[string]bool{"unit": true, "therapy": true, "suction": true, "power": true, "fluid": true, "outline": true, "healing": true, "supply": true, "payer": true, "trouble": true, "pumplog": true, "route": true}

// wasm packages are reachable from web and must stay small enough for a browser.
var notInWasm = []string{"modernc.org/sqlite", "database/sql", "github.com/spf13/cobra", "github.com/invopop/jsonschema"}

type listed struct {
	ImportPath string
	Dir        string
	GoFiles    []string
	Imports    []string
	Export     string
}

func list(t *testing.T, args ...string) []listed {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,GoFiles,Imports,Export"}, args...)...)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []listed
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := dec.Decode(&p); err == io.EOF {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

func short(path string) string { return strings.TrimPrefix(path, "lowtide/") }

// TestImports holds every package to the import table: the road points down only.
func TestImports(t *testing.T) {
	for _, p := range list(t, "./...") {
		name := short(p.ImportPath)
		allowed, ok := mayImport[name]
		if !ok {
			t.Errorf("package %s is not in the import table", name)
			continue
		}
		for _, imp := range p.Imports {
			dep := short(imp)
			if dep == imp && imp != "lowtide" {
				continue // not of this module
			}
			if allowed != "*" && !strings.Contains(" "+allowed+" ", " "+dep+" ") {
				t.Errorf("%s imports %s; it may import: %s", name, dep, allowed)
			}
		}
	}
}

// TestComputingIsPure: computing packages use no clock, file, network, environment or randomness of their own, and
// start no goroutine; rule, review and casebook read no clock either.
func TestComputingIsPure(t *testing.T) {
	banned := map[string]bool{"os": true, "net": true, "net/http": true, "math/rand": true, "math/rand/v2": true, "crypto/rand": true, "os/exec": true, "syscall": true, "log": true, "log/slog": true, "path/filepath": true, "database/sql": true, "io/ioutil": true}
	for _, p := range list(t, "./...") {
		name := short(p.ImportPath)
		clockless := computing[name] || name == "rule" || name == "state" || name == "review" || name == "caseload" || name == "casebook" || name == "intake" || name == "chart" || name == "web" || name == "web/page" || name == "wording" || name == "report" || name == "demo" || name == "account" || name == "accesslog" || name == "meeting" || name == "passkey" || name == "seal" || name == "backup" || name == "stock" || name == "week"
		if !clockless {
			continue
		}
		for _, file := range p.GoFiles {
			fset := token.NewFileSet()
			f, err := parser.ParseFile(fset, filepath.Join(p.Dir, file), nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			for _, imp := range f.Imports {
				path, _ := strconv.Unquote(imp.Path.Value)
				if computing[name] && banned[path] {
					t.Errorf("%s/%s imports %s", name, file, path)
				}
			}
			ast.Inspect(f, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.SelectorExpr:
					if x, ok := n.X.(*ast.Ident); ok && x.Name == "time" && (n.Sel.Name == "Now" || n.Sel.Name == "Since" || n.Sel.Name == "Until" || n.Sel.Name == "Sleep" || n.Sel.Name == "After") {
						t.Errorf("%s: %s uses time.%s; the clock comes from cli", fset.Position(n.Pos()), name, n.Sel.Name)
					}
				case *ast.GoStmt:
					if computing[name] {
						t.Errorf("%s: %s starts a goroutine", fset.Position(n.Pos()), name)
					}
				}
				return true
			})
		}
	}
}

// TestNoHTMLTemplate: html/template finds methods by name at run time, which keeps the linker from dropping anything.
func TestNoHTMLTemplate(t *testing.T) {
	for _, p := range list(t, "./...") {
		for _, imp := range p.Imports {
			if imp == "html/template" {
				t.Errorf("%s imports html/template; pages are templ", p.ImportPath)
			}
		}
	}
}

// TestWebStaysSmall: what the pages are made of can be compiled for a browser.
func TestWebStaysSmall(t *testing.T) {
	deps, err := exec.Command("go", "list", "-deps", "./web", "./casebook/memory").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range notInWasm {
		for _, d := range strings.Fields(string(deps)) {
			if d == bad || strings.HasPrefix(d, bad+"/") {
				t.Errorf("web reaches %s", d)
			}
		}
	}
	cmd := exec.Command("go", "build", "./web", "./casebook/memory")
	cmd.Env = append(cmd.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("web does not compile for js/wasm: %v\n%s", err, out)
	}
}

// TestEveryPackageIntroducesItself: the first sentence of a package says its step on the road.
func TestEveryPackageIntroducesItself(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", "{{.ImportPath}}\t{{.Doc}}", "./...").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		path, doc, _ := strings.Cut(line, "\t")
		if doc == "" {
			t.Errorf("%s has no package comment", path)
		}
	}
}
