package main

import (
	"bytes"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// inline matches a script that stands in a page, and event attributes and
// javascript: addresses.
var inline = regexp.MustCompile(`(?is)<script(>|\s[^>]*>)\s*[^\s<]|\son[a-z]+\s*=|javascript:`)

// GO-2026-6599 and GO-2026-6600 are about values put into scripts by
// html/template. The reason in DEVELOPERS.md is that our templates hold no
// script; this test is that reason. A page without an action is no template:
// nothing is put into it there.
func TestTemplatesHoldNoScript(t *testing.T) {
	for name, text := range sources(t, ".html") {
		if found := inline.Find(text); found != nil && bytes.Contains(text, []byte("{{")) {
			t.Errorf("%s holds a script: %s", name, found)
		}
	}
}

// GO-2026-6875 is about a reverse proxy in the web framework's middleware.
func TestNoProxyMiddleware(t *testing.T) {
	for name, text := range sources(t, ".go") {
		file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, spec := range file.Imports {
			if spec.Path.Value == `"github.com/labstack/echo/v4/middleware"` {
				t.Errorf("%s imports %s", name, spec.Path.Value)
			}
		}
	}
}

// sources reads every file of the project with this ending.
func sources(t *testing.T, ending string) map[string][]byte {
	t.Helper()
	root, files := os.DirFS("../../.."), map[string][]byte{}
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && slices.Contains([]string{".git", "node_modules", "testdata"}, d.Name()):
			return fs.SkipDir
		case d.IsDir() || path.Ext(name) != ending:
			return nil
		}
		files[name], err = fs.ReadFile(root, name)
		return err
	})
	if err != nil || len(files) == 0 {
		t.Fatalf("%d files read that end in %s: %v", len(files), ending, err)
	}
	return files
}

func TestInlineFindsScripts(t *testing.T) {
	for text, want := range map[string]bool{
		`<script>let a = 1</script>`:                                   true,
		"<script type=\"module\">\n`${a}`</script>":                    true,
		`<p onclick="go()">`:                                           true,
		`<a href="javascript:go()">`:                                   true,
		`<script type="module" src="/static/page.js"></script>`:        false,
		"<script src=\"{{asset \"page.js\"}}\">\n</script><p>on = off": false,
	} {
		if got := inline.MatchString(text); got != want {
			t.Errorf("%s: found %v, want %v", strings.TrimSpace(text), got, want)
		}
	}
}
