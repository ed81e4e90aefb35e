package purity

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"slices"
	"strings"
	"testing"
)

// clockReaders are the functions of package time that look at the clock by
// themselves. Timers only wait, and are left alone.
var clockReaders = []string{"Now", "Since", "Until"}

// clockReads returns where a Go file reads the clock, as "file:line:column".
func clockReads(name string, source []byte) ([]string, error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, source, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	var found []string
	as := timeName(file)
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			if x, ok := n.X.(*ast.Ident); ok && x.Name == as && slices.Contains(clockReaders, n.Sel.Name) {
				found = append(found, set.Position(n.Pos()).String())
			}
		case *ast.ImportSpec:
			if n.Path.Value == `"time"` && n.Name != nil && n.Name.Name == "." {
				found = append(found, set.Position(n.Pos()).String()) // would hide the name
			}
		}
		return true
	})
	return found, nil
}

// timeName returns the name under which a file imports package time, "" if it
// does not.
func timeName(file *ast.File) string {
	for _, spec := range file.Imports {
		if spec.Path.Value != `"time"` {
			continue
		}
		if spec.Name != nil {
			return spec.Name.Name
		}
		return "time"
	}
	return ""
}

func TestOnlyCommandsReadTheClock(t *testing.T) {
	scanned := 0
	for name, data := range files(t) {
		if path.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") || strings.HasPrefix(name, "cmd/") {
			continue
		}
		scanned++
		found, err := clockReads(name, data)
		if err != nil {
			t.Errorf("read %s: %v", name, err)
		}
		for _, at := range found {
			t.Errorf("%s reads the clock; take the time as an argument", at)
		}
	}
	if scanned < 7 { // the two beacon packages alone have as many
		t.Errorf("only %d Go files scanned", scanned)
	}
}

func TestClockReadsAreFound(t *testing.T) {
	for source, want := range map[string]int{
		"package p; import \"time\"; var a = time.Now()":                                 1,
		"package p; import \"time\"; var now = time.Now":                                 1,
		"package p; import \"time\"; var a = time.Since(time.Now())":                     2,
		"package p; import \"time\"; var a = time.Until(time.Time{})":                    1,
		"package p; import clock \"time\"; var a = clock.Now()":                          1,
		"package p; import . \"time\"; var a = Now()":                                    1,
		"package p; import \"time\"; var a = time.Unix(0, 0) // not time.Now()":          0,
		"package p; import \"time\"; type c struct{ Now func() time.Time }":              0,
		"package p; var time struct{ Now func() int }; var a = time.Now()":               0,
		"package p; import \"time\"; func f(c interface{ Now() time.Time }) { c.Now() }": 0,
	} {
		found, err := clockReads("p.go", []byte(source))
		if err != nil || len(found) != want {
			t.Errorf("%s: found %v, %v, want %d", source, found, err, want)
		}
	}
}
