package main

import (
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
// script; this test is that reason.
func TestTemplatesHoldNoScript(t *testing.T) {
	root, templates := os.DirFS("../../.."), 0
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			if err == nil && slices.Contains([]string{".git", "node_modules", "testdata"}, d.Name()) {
				return fs.SkipDir
			}
			return err
		}
		if path.Ext(name) != ".html" {
			return nil
		}
		templates++
		text, err := fs.ReadFile(root, name)
		if found := inline.Find(text); found != nil {
			t.Errorf("%s holds a script: %s", name, found)
		}
		return err
	})
	if err != nil || templates == 0 {
		t.Errorf("%d templates read (%v)", templates, err)
	}
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
