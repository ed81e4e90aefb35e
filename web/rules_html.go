package web

import (
	"bytes"
	"html"
	"html/template"
	"net/url"
	"regexp"
	"strings"

	"github.com/microcosm-cc/bluemonday"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"evenhand/draw"
)

// The rules are Markdown (CommonMark) of which only that is read which hides
// nothing: what the posted text says stands on the page too. So raw HTML,
// fences and link definitions are not known and show as they were typed,
// indented lines are a paragraph; a picture shows its words alone, and nothing
// loads from anywhere.
var rulesMarkdown = goldmark.New(
	goldmark.WithParser(parser.NewParser(
		parser.WithBlockParsers(
			util.Prioritized(parser.NewSetextHeadingParser(), 100),
			util.Prioritized(parser.NewThematicBreakParser(), 200),
			util.Prioritized(parser.NewListParser(), 300),
			util.Prioritized(parser.NewListItemParser(), 400),
			util.Prioritized(parser.NewCodeBlockParser(), 500),
			util.Prioritized(parser.NewATXHeadingParser(), 600),
			util.Prioritized(parser.NewBlockquoteParser(), 800),
			util.Prioritized(parser.NewParagraphParser(), 1000),
		),
		parser.WithInlineParsers(
			util.Prioritized(parser.NewCodeSpanParser(), 100),
			util.Prioritized(parser.NewLinkParser(), 200),
			util.Prioritized(parser.NewAutoLinkParser(), 300),
			util.Prioritized(parser.NewEmphasisParser(), 500),
		),
		parser.WithASTTransformers(util.Prioritized(fitsPage{}, 100)),
	)),
	goldmark.WithExtensions(extension.Linkify),
	goldmark.WithRendererOptions(renderer.WithNodeRenderers(util.Prioritized(wordsOnly{}, 1))),
)

// rulesPolicy lets through what the rules need and nothing else, whatever the
// Markdown became.
var rulesPolicy = func() *bluemonday.Policy {
	p := bluemonday.NewPolicy()
	p.AllowElements("p", "br", "ul", "ol", "li", "strong", "em", "code", "blockquote", "hr", "h2", "h3", "h4", "h5", "h6")
	p.AllowAttrs("start").Matching(regexp.MustCompile(`^[0-9]{1,9}$`)).OnElements("ol")
	p.AllowAttrs("href").OnElements("a")
	p.AllowAttrs("rel").Matching(regexp.MustCompile(`^nofollow noopener$`)).OnElements("a")
	p.AllowURLSchemes("http", "https", "mailto")
	p.RequireParseableURLs(true)
	return p
}()

// What goes beyond these is shown as it was typed. All are far from what
// anybody writes, and where a parser gets slow: it looks far ahead at each
// bracket, and goes down one level for each block within a block.
const (
	longest  = 100_000 // bytes
	brackets = 1000    // [
	emphases = 2000    // runs of * and _, each of which is looked for among all before it
	deepest  = 60      // blocks and marks in one another
)

// rulesHTML writes the text of rules as HTML that is safe to put into a page. A
// text that was written lately is not written anew.
func rulesHTML(rules string) template.HTML {
	return written.get(draw.Hash([]byte(rules)), func() template.HTML { return writeRules(rules) })
}

func writeRules(rules string) template.HTML {
	if len(rules) > longest || strings.Count(rules, "[") > brackets || markRuns(rules) > emphases || deepLine(rules) {
		return asTyped(rules)
	}
	source := []byte(rules)
	doc := rulesMarkdown.Parser().Parse(text.NewReader(source))
	var b bytes.Buffer
	if deep(doc) || rulesMarkdown.Renderer().Render(&b, source, doc) != nil {
		return asTyped(rules)
	}
	return template.HTML(rulesPolicy.SanitizeReader(&b).String()) // the one place where HTML is not a template's own
}

// markRuns counts the runs of * and of _.
func markRuns(rules string) (n int) {
	var last byte
	for i := range len(rules) {
		if c := rules[i]; c != last {
			if last = c; c == '*' || c == '_' {
				n++
			}
		}
	}
	return n
}

// asTyped shows a text with its own line ends.
func asTyped(s string) template.HTML {
	return template.HTML(`<div class="text">` + html.EscapeString(s) + `</div>`)
}

// blockMark is what may begin a block within a block.
var blockMark = regexp.MustCompile(`^[ \t]*(?:>|[-*+](?:[ \t]|$)|[0-9]{1,9}[.)](?:[ \t]|$))`)

// deepLine reports whether a line begins too many blocks.
func deepLine(rules string) bool {
	for line := range strings.Lines(rules) {
		n := 0
		for at := blockMark.FindStringIndex(line); at != nil; at = blockMark.FindStringIndex(line) {
			if n++; n > deepest/2 { // each item is two: the list's and its own
				return true
			}
			line = line[at[1]:]
		}
	}
	return false
}

// deep reports whether too much lies in one another.
func deep(doc ast.Node) bool {
	most, now := 0, 0
	_ = ast.Walk(doc, func(_ ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			now++
		} else {
			now--
		}
		most = max(most, now)
		return ast.WalkContinue, nil
	})
	return most > deepest
}

// fitsPage makes headings those of a part of the page, and keeps the line ends
// that the writer meant.
type fitsPage struct{}

// Transform is called by goldmark.
func (fitsPage) Transform(doc *ast.Document, r text.Reader, _ parser.Context) {
	source := r.Source()
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		switch n := n.(type) {
		case *ast.Heading:
			if entering {
				n.Level = min(n.Level+1, 6)
			}
		case *ast.Link:
			n.Title = nil // nobody would see it
			follow(n, string(n.Destination))
		case *ast.AutoLink:
			follow(n, string(n.URL(source)))
		case *ast.Text:
			if entering && n.SoftLineBreak() && meant(source, n.Segment.Stop) {
				n.SetHardLineBreak(true)
			}
		}
		return ast.WalkContinue, nil
	})
}

// follow lets a link out that leads to a page or a mailbox. The policy leaves
// of any other its words alone, since it has no attribute.
func follow(link ast.Node, to string) {
	u, err := url.Parse(to)
	if err == nil && (u.Scheme == "https" || u.Scheme == "http" || u.Scheme == "mailto" || link.Kind() == ast.KindAutoLink && u.Scheme == "") {
		link.SetAttributeString("rel", []byte("nofollow noopener"))
	}
}

// listMark begins an item of a list, also one that Markdown knows as none:
// "1. ", "12) ", "(a) ", "- ", "• ".
var listMark = regexp.MustCompile(`^\s*(?:\(?(?:[0-9]{1,3}|[A-Za-z])[.)]|[-*•–])\s`)

// meant reports whether the line end after a text is one that the writer
// meant, and not the editor's, where the next word no longer fitted.
func meant(source []byte, stop int) bool {
	end := bytes.IndexByte(source[stop:], '\n')
	if end < 0 {
		return false
	}
	begin := bytes.LastIndexByte(source[:stop], '\n') + 1
	next, _, _ := bytes.Cut(source[stop+end+1:], []byte("\n"))
	line := strings.TrimRight(string(source[begin:stop]), " \t\r")
	words := strings.TrimSpace(string(next))
	return listMark.MatchString(words+" ") || !wrapped(line, words)
}

// wordsOnly shows the words of a picture, and no picture; indented lines are
// lines like others.
type wordsOnly struct{}

// RegisterFuncs is called by goldmark.
func (wordsOnly) RegisterFuncs(r renderer.NodeRendererFuncRegisterer) {
	r.Register(ast.KindImage, func(util.BufWriter, []byte, ast.Node, bool) (ast.WalkStatus, error) {
		return ast.WalkContinue, nil
	})
	r.Register(ast.KindCodeBlock, func(w util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			words := strings.TrimSpace(string(n.Lines().Value(source)))
			_, _ = w.WriteString("<p>" + strings.ReplaceAll(html.EscapeString(words), "\n", "<br>\n") + "</p>\n")
		}
		return ast.WalkSkipChildren, nil
	})
}
