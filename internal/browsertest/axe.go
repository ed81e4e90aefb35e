package browsertest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/chromedp/chromedp"

	"evenhand/internal/testneed"
)

// axeFile is the checker's script, from the module's root. npm puts it there;
// see internal/tools/install-test-needs.sh.
const axeFile = "internal/tools/axe/node_modules/axe-core/axe.min.js"

// Violation is one rule that the page breaks. Field names are those of
// axe-core's results object (its API documentation, "Results Object").
type Violation struct {
	ID      string // the rule, as in "color-contrast"
	Impact  string // minor, moderate, serious or critical
	Help    string // the rule in words
	HelpURL string
	Nodes   []ViolationNode
}

// ViolationNode is one element that breaks the rule.
type ViolationNode struct {
	Target         json.RawMessage // CSS path of the element, as JSON
	HTML           string
	FailureSummary string // what to do about it
}

// String is the violation for a test's message.
func (v Violation) String() string {
	var out strings.Builder
	fmt.Fprintf(&out, "%s (%s): %s", v.ID, v.Impact, v.Help)
	for _, n := range v.Nodes {
		fmt.Fprintf(&out, "\n  %s %s\n  %s", n.Target, n.HTML, strings.ReplaceAll(n.FailureSummary, "\n", "\n  "))
	}
	return out.String()
}

// Axe returns what axe-core finds wrong with the page as it stands, by all its
// rules. It asks no server for anything. When scripts are off they are on for
// the time of the check; scripts that the page had at its loading stay unrun.
func (b *Browser) Axe() ([]Violation, error) {
	b.t.Helper()
	source, err := axeSource()
	if err != nil {
		if errors.Is(err, os.ErrNotExist) {
			testneed.Missing(b.t, "axe-core is not installed")
		}
		return nil, fmt.Errorf("read axe-core: %w", err)
	}
	if b.scriptOff {
		b.Script(true)
		defer b.Script(false)
	}
	return b.axe(source)
}

// axe runs the checker. preload is off: it would fetch style sheets again.
func (b *Browser) axe(source string) ([]Violation, error) {
	ctx, cancel := context.WithTimeout(b.ctx, Patience)
	defer cancel()
	if err := chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](source+"\n;0")); err != nil {
		return nil, fmt.Errorf("load axe-core into the page: %w", err)
	}
	const check = `axe.run(document, {preload: false, resultTypes: ["violations"]}).then(r =>
		({Rules: r.passes.length + r.violations.length + r.inapplicable.length, Violations: r.violations}))`
	result, err := chromedp.Run(ctx, chromedp.Evaluate[struct {
		Rules      int
		Violations []Violation
	}](check, chromedp.EvalAwaitPromise))
	if err != nil {
		return nil, fmt.Errorf("run axe-core: %w", err)
	}
	if result.Rules == 0 {
		return nil, errors.New("run axe-core: no rule was run")
	}
	return result.Violations, nil
}

// axeSource reads the checker from the module that the test runs in.
func axeSource() (string, error) {
	root, err := moduleRoot()
	if err != nil {
		return "", err
	}
	b, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(axeFile)))
	return string(b), err
}

// moduleRoot finds go.mod above the working folder, which go test sets to the
// package's own.
func moduleRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		parent := filepath.Dir(dir)
		if parent == dir {
			return "", errors.New("no go.mod above the working folder")
		}
		dir = parent
	}
}

// quote fills %q of a script with a JSON string, which is also a JavaScript one.
func quote(script, value string) string {
	b, _ := json.Marshal(value) // a string always has a JSON form
	return strings.Replace(script, "%q", string(b), 1)
}
