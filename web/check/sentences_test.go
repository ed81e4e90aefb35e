package check

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Every sentence of the browser's check is one of package draw's, and every
// sentence of package draw's check is one of the browser's: the values in them
// left out. So a rule that is added to one of them, or a sentence that is
// changed, is missed here in the other.
func TestOneSetOfSentences(t *testing.T) {
	script, program := scriptSentences(t), programSentences(t)
	if len(script) < 100 || len(program) < 100 {
		t.Fatalf("found %d and %d sentences: the search is broken", len(script), len(program))
	}
	for _, s := range slices.Sorted(maps.Keys(script)) {
		if !program[s] && !scriptOnly[s] {
			t.Errorf("only in the script: %s", s)
		}
	}
	for _, s := range slices.Sorted(maps.Keys(program)) {
		if !script[s] && !programOnly[s] {
			t.Errorf("only in package draw: %s", s)
		}
	}
}

// scriptOnly are sentences of the script that stand otherwise, or elsewhere,
// in package draw.
var scriptOnly = map[string]bool{
	"%; a byte-order mark stands before it":                            true, // put together from two
	"%; it ends in a CR":                                               true,
	"read beacon signature: % characters, want 96 hex digits":          true, // package beacon
	"read beacon signature: character % is not a lower-case hex digit": true,
	"beacon not checked: its relays do not agree with each other":      true, // package draw hears of one answer
	"not checked: whether the address is in NFC: the tables of this browser and of the command line may differ for it": true,
	"size none\\n": true,
}

// programOnly are those that the script has otherwise, or not at all.
var programOnly = map[string]bool{
	"want the first line evenhand/opening/v1; a byte-order mark stands before it": true,
	"want the first line evenhand/opening/v1; it ends in a CR":                    true,
	"size none\n": true,
	"the beacon's signature of round % verifies":                  true, // the script asks the relays
	"want the beacon's signature of round %: %":                   true,
	"want a plain file, not a link or anything else":              true, // a browser sees plain files only
	"list the folder: %":                                          true,
	"round of the event: %":                                       true, // no time of the protocol is past quicknet's last round
	"a ticket has % characters; this has %":                       true, // of tickets that a person typed
	"a ticket has digits and Latin letters only":                  true,
	"a ticket has no letter U: is it a V?":                        true,
	"new signer: %":                                               true, // of making, not of checking
	"new signer: want a lower-case host name":                     true,
	"new ticket: %":                                               true,
	"verifier key: %":                                             true,
	"want a signing key as signed-note writes it":                 true,
	"write list: %":                                               true,
	"write list: a ticket is malformed":                           true,
	"write list: ticket % after %: want strictly ascending order": true,
	"write list: want a reason of duplicate, unconfirmed, region, withdrawn, ineligible": true,
}

var (
	comments = regexp.MustCompile(`(?m)(^|\s)//.*$`)
	literals = regexp.MustCompile("`[^`]*`" + `|"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*'`)
	holes    = regexp.MustCompile(`\$\{(?:[^{}]|\{[^{}]*\})*\}`)
	verbs    = regexp.MustCompile(`%0?\d*[a-z]`)
	lists    = regexp.MustCompile(`\b(roll|excluded)\.txt`)
	prose    = regexp.MustCompile(`[a-z]+ [a-z]+`)
)

func scriptSentences(t *testing.T) map[string]bool {
	out := map[string]bool{}
	for _, name := range []string{"text.js", "note.js", "files.js", "lists.js", "order.js", "check.js", "checkopening.js", "checklists.js", "checkdraw.js",
		"checkoutcome.js", "checkoptions.js", "receipts.js"} {
		b, err := sources.ReadFile(name)
		must(t, err)
		text := holes.ReplaceAllString(comments.ReplaceAllString(string(b), ""), "%")
		for _, l := range literals.FindAllString(text, -1) {
			keep(out, strings.ReplaceAll(l[1:len(l)-1], `\"`, `"`))
		}
	}
	return out
}

// keep takes what reads like a sentence.
func keep(out map[string]bool, s string) {
	s = lists.ReplaceAllString(s, "%")
	if prose.MatchString(s) {
		out[s] = true
	}
}

// programFiles are those of package draw that a check runs through.
var programFiles = []string{"check*.go", "turns.go", "revision.go", "scan.go", "list.go", "excluded.go", "note.go", "text.go", "values.go", "ticket.go",
	"words.go", "opening.go", "freeze.go", "record.go", "outcome.go", "cancelled.go", "receipt.go", "entry.go", "digest.go", "report.go"}

func programSentences(t *testing.T) map[string]bool {
	out := map[string]bool{}
	for _, pattern := range programFiles {
		files, err := filepath.Glob(filepath.Join("../../draw", pattern))
		must(t, err)
		for _, path := range files {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			must(t, err)
			ast.Inspect(file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.ImportSpec:
					return false
				case *ast.BinaryExpr:
					if s, ok := folded(n); ok {
						keep(out, verbs.ReplaceAllString(s, "%"))
						return false
					}
				case *ast.BasicLit:
					if s, ok := folded(n); ok {
						keep(out, verbs.ReplaceAllString(s, "%"))
					}
				}
				return true
			})
		}
	}
	return out
}

// folded is the text of a literal, or of a sum of literals and values.
func folded(n ast.Expr) (string, bool) {
	switch n := n.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(n.Value)
		return s, n.Kind == token.STRING && err == nil
	case *ast.BinaryExpr:
		a, okA := folded(n.X)
		b, okB := folded(n.Y)
		if n.Op != token.ADD || !okA && !okB {
			return "", false
		}
		if !okA {
			a = "%"
		}
		if !okB {
			b = "%"
		}
		return a + b, true
	}
	return "", false
}
