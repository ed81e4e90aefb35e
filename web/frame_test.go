package web_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A page's struct embeds Frame, and the layout reads Frame's fields from the
// page: a field of the page that has the name of one would be read instead
// (Go specification, "Selectors": the shallowest field wins). One did: the first
// rows of a file, called Sample, made every file's giveaway an invented one.
func TestNoPageHidesItsFrame(t *testing.T) {
	own, embeds := structsOf(t)
	frame := own["Frame"]
	if len(frame) < 6 {
		t.Fatalf("Frame has the fields %q, want six at least", frame)
	}
	var has func(name string) bool
	has = func(name string) bool { return name == "Frame" || slices.ContainsFunc(embeds[name], has) }
	pages := 0
	for name, fields := range own {
		if name == "Frame" || !has(name) {
			continue
		}
		pages++
		for _, beside := range embeds[name] {
			if !has(beside) {
				fields = append(fields, own[beside]...) // as deep as Frame's: then neither is read
			}
		}
		for _, f := range fields {
			if slices.Contains(frame, f) {
				t.Errorf("%s has a field %s, which hides that of Frame", name, f)
			}
		}
	}
	if pages < 30 {
		t.Errorf("found %d pages, want 30 at least", pages)
	}
}

// structsOf reads the structs of the package: the names of their own fields,
// and of what they embed.
func structsOf(t *testing.T) (own, embeds map[string][]string) {
	t.Helper()
	own, embeds = map[string][]string{}, map[string][]string{}
	files, err := filepath.Glob("*.go")
	must(t, err)
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		must(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.TypeSpec)
			if !ok {
				return true
			}
			s, ok := spec.Type.(*ast.StructType)
			if !ok {
				return true
			}
			for _, f := range s.Fields.List {
				for _, name := range f.Names {
					own[spec.Name.Name] = append(own[spec.Name.Name], name.Name)
				}
				if id, ok := f.Type.(*ast.Ident); ok && len(f.Names) == 0 {
					embeds[spec.Name.Name] = append(embeds[spec.Name.Name], id.Name)
				}
			}
			return true
		})
	}
	return own, embeds
}
