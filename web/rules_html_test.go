package web

import (
	"html/template"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"evenhand/draw"
)

// The right values were made by hand: what a reader of the Markdown sees, and
// nothing that loads, runs or hides. Schemes and event attributes are those of
// the OWASP XSS Filter Evasion Cheat Sheet (from memory).
func TestRulesHTML(t *testing.T) {
	const nofollow = ` rel="nofollow noopener"`
	for _, c := range []struct{ typed, want string }{
		{"# Rules\n\nOne **entry** a _person_.", "<h2>Rules</h2>\n<p>One <strong>entry</strong> a <em>person</em>.</p>\n"},
		{"1. Free.\n2. One each.\n", "<ol>\n<li>Free.</li>\n<li>One each.</li>\n</ol>\n"},
		{"7) Seven.\n", "<ol start=\"7\">\n<li>Seven.</li>\n</ol>\n"},
		{"- a\n- b\n", "<ul>\n<li>a</li>\n<li>b</li>\n</ul>\n"},
		{"Rules of the giveaway\r\nSlow Miles\r\n", "<p>Rules of the giveaway<br>\nSlow Miles</p>\n"},
		{"Entering is free. Nothing has to be bought, and buying does not\nchange your chance.\n", "<p>Entering is free. Nothing has to be bought, and buying does not\nchange your chance.</p>\n"},
		{"(a) One long line that is as wide as an editor makes it, not more.\n(b) Two\n", "<p>(a) One long line that is as wide as an editor makes it, not more.<br>\n(b) Two</p>\n"},
		{"<b>& more</b>", "<p>&lt;b&gt;&amp; more&lt;/b&gt;</p>\n"},
		{"<script>alert(1)</script>", "<p>&lt;script&gt;alert(1)&lt;/script&gt;</p>\n"},
		{"<!-- a hidden clause -->", "<p>&lt;!-- a hidden clause --&gt;</p>\n"},
		{"<div>\na clause\n</div>", "<p>&lt;div&gt;<br>\na clause<br>\n&lt;/div&gt;</p>\n"},
		{"[x]: https://example.com \"a clause\"", `<p>[x]: <a href="https://example.com"` + nofollow + `>https://example.com</a> &#34;a clause&#34;</p>` + "\n"},
		{"```a clause\nb\n```", "<p><code>a clause b </code></p>\n"},
		{"    a clause\n    <b>", "<p>a clause<br>\n&lt;b&gt;</p>\n"},
		{"[press](javascript:alert(1))", "<p>press</p>\n"},
		{"[press](JaVaScRiPt&colon;alert(1))", "<p>press</p>\n"},
		{"[press](data:text/html;base64,PHNjcmlwdD4=)", "<p>press</p>\n"},
		{"[press](vbscript:x) <javascript:alert(1)>", "<p>press javascript:alert(1)</p>\n"},
		{"![a boot](https://example.com/boot.png \"t\")", "<p>a boot</p>\n"},
		{"![a boot](data:image/svg+xml,<svg/onload=alert(1)>)", "<p>a boot</p>\n"},
		{"[rules](https://example.com/a?b=c&d=e \"onmouseover\")", `<p><a href="https://example.com/a?b=c&amp;d=e"` + nofollow + ">rules</a></p>\n"},
		{"See https://example.com/x. <mailto:hello@example.com>", `<p>See <a href="https://example.com/x"` + nofollow + `>https://example.com/x</a>. <a href="mailto:hello@example.com"` + nofollow + ">mailto:hello@example.com</a></p>\n"},
		{"[x](https://example.com/\"onmouseover=alert(1))", `<p><a href="https://example.com/%22onmouseover=alert(1)"` + nofollow + ">x</a></p>\n"},
		{"", ""},
	} {
		if got := string(rulesHTML(c.typed)); got != c.want {
			t.Errorf("%q:\ngot  %q\nwant %q", c.typed, got, c.want)
		}
	}
}

// allowed are all elements and attributes that may come out.
var allowed = map[string]string{"a": " href rel ", "ol": " start ", "div": " class ", "p": "", "br": "", "ul": "", "li": "", "strong": "", "em": "", "code": "",
	"blockquote": "", "hr": "", "h2": "", "h3": "", "h4": "", "h5": "", "h6": "", "html": "", "head": "", "body": ""}

func onlyAllowed(t *testing.T, typed, out string) {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(out))
	if err != nil {
		t.Fatalf("%.60q: %v", typed, err)
	}
	for n := range doc.Descendants() {
		if n.Type == html.CommentNode {
			t.Errorf("%.60q: a comment came out", typed)
		}
		if n.Type != html.ElementNode {
			continue
		}
		attrs, ok := allowed[n.Data]
		if !ok {
			t.Errorf("%.60q: <%s> came out", typed, n.Data)
		}
		for _, a := range n.Attr {
			if !strings.Contains(attrs, " "+a.Key+" ") {
				t.Errorf("%.60q: %s of <%s> came out", typed, a.Key, n.Data)
			}
			if scheme, _, _ := strings.Cut(a.Val, ":"); a.Key == "href" && scheme != "https" && scheme != "http" && scheme != "mailto" {
				t.Errorf("%.60q: a link to %q came out", typed, a.Val)
			}
		}
	}
}

// Texts that are made to be slow or deep come out safe, and soon: 20 seconds is
// far more than any takes on a busy machine under the race detector.
func TestRulesHTMLHuge(t *testing.T) {
	const n = 20_000
	for _, one := range []string{">", "> ", "- ", "* ", "1. ", "[", "![", "](", "**", "_a_*", "`", "<", "<a ", "&#0;", "\\", "[a](", "[a](<", "# ", "a\n> ", " ", "- a\n  ", "http://a ", "a@b.c ", "\x00", "\xff", "*a **a "} {
		typed := strings.Repeat(one, n/len(one))
		start := time.Now()
		out := string(rulesHTML(typed))
		if took := time.Since(start); took > 20*time.Second {
			t.Errorf("%q again and again took %v", one, took)
		} else if took > 300*time.Millisecond {
			t.Logf("%q: %v", one, took)
		}
		onlyAllowed(t, typed, out)
	}
	var stairs strings.Builder
	for i := range 400 {
		stairs.WriteString(strings.Repeat(" ", 2*i) + "- a\n")
	}
	onlyAllowed(t, "stairs", string(rulesHTML(stairs.String())))
}

// Marks that open and never close, up to the longest text, cost no more than a
// moment: 5 seconds is far more than any takes on a busy machine under the race
// detector, and far less than they took without a limit (10 s and more; measured
// here, with no other source). A text that has too many of them stands as typed,
// and one that people would write does not.
func TestRulesHTMLMarks(t *testing.T) {
	for _, one := range []string{"_a*", "*a_", "**a_", "a_*b", "*_a", "***a_b", "**_a*_", "_a\n*b ", "* _a*\n"} {
		typed := strings.Repeat(one, longest/len(one))
		start := time.Now()
		out := string(writeRules(typed))
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%q again and again took %v", one, took)
		}
		if !strings.HasPrefix(out, `<div class="text">`) {
			t.Errorf("%q again and again is not shown as typed: %.60s", one, out)
		}
	}
	for _, one := range []string{"_a*", "*a_", "a_*b", "*_a"} { // just below the limit
		typed := strings.Repeat(one, emphases/2)
		start := time.Now()
		if out := string(writeRules(typed)); strings.HasPrefix(out, `<div class="text">`) {
			t.Errorf("%q %d times is shown as typed", one, emphases/2)
		}
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%q %d times took %v", one, emphases/2, took)
		}
	}
	if out := string(rulesHTML(strings.Repeat("* **One** clause_here.\n", 400))); !strings.HasPrefix(out, "<ul>") {
		t.Errorf("400 items became %.60s", out)
	}
}

// What was written is kept, by its text, and not more than a few.
func TestRulesAreWrittenOnce(t *testing.T) {
	w := writtenRules{by: map[draw.Digest]template.HTML{}}
	wrote := 0
	get := func(text string) template.HTML {
		return w.get(draw.Hash([]byte(text)), func() template.HTML { wrote++; return template.HTML(text) })
	}
	for range 3 {
		if a, b := get("a"), get("b"); a != "a" || b != "b" {
			t.Errorf("got %q and %q", a, b)
		}
	}
	if wrote != 2 {
		t.Errorf("written %d times, want 2", wrote)
	}
	for i := range 5 * mostWritten {
		get(strings.Repeat("x", i))
	}
	if len(w.by) > mostWritten {
		t.Errorf("%d are kept, want %d at most", len(w.by), mostWritten)
	}
}

// Whatever is typed, nothing but the allowed comes out.
func FuzzRulesHTML(f *testing.F) {
	for _, seed := range []string{"# a\n\n- b <i>c</i>", "[a](javascript:b)", "![a](b)\n```\n<x>", "<a href='x' onclick=y>", "1. a\n\n   > b\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) { onlyAllowed(t, typed, string(rulesHTML(typed))) })
}
