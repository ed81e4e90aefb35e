// Package check is the check of a publication in a viewer's own browser: plain
// scripts that anybody can read, joined into one as they are, without a build
// step. It agrees with package draw, whose check the command line runs, in
// every finding; the tests here hold both against each other.
//
// Start with about.js, which says how the script is made up. [Script] is what
// the site serves beside its page; [Copy] is the same script in one document
// that needs nothing else: beside a publication's files on any web server, or
// saved on disk.
package check

import (
	"bytes"
	"embed"

	"evenhand/draw"
)

//go:embed *.js
var sources embed.FS

// parts are the files of the script, in the order in which they are joined.
var parts = []string{"about.js", "sha256.js", "ed25519.js", "text.js", "note.js", "files.js", "lists.js", "order.js", "relays.js",
	"check.js", "checkopening.js", "checklists.js", "checkdraw.js", "checkoutcome.js", "checkoptions.js", "receipts.js", "statement.js", "sources.js", "worker.js", "prose.js", "page.js", "start.js"}

// Script is the whole script. It ends with the table of the statement's
// sentences, which package draw reads too.
func Script() []byte {
	var b bytes.Buffer
	for _, name := range parts {
		text, err := sources.ReadFile(name)
		if err != nil {
			panic("check: " + err.Error())
		}
		if name == "start.js" {
			b.WriteString("\n// ==== draw/statement.json ====\n\nconst statementTable = ")
			b.Write(bytes.TrimSpace(draw.StatementTable))
			b.WriteString(";\n")
		}
		if name != "about.js" {
			b.WriteString("\n// ==== " + name + " ====\n\n")
		}
		b.Write(text)
	}
	return b.Bytes()
}

// A Document is the whole check in one file, and the two parts of it that
// stand inline.
type Document struct {
	Document, Script, Style []byte
}

// Copy is the check as one document that needs nothing else. style is its
// style sheet; more are scripts that follow, such as a drawing of what was
// checked. Beside a publication's files on any web server it reads those;
// opened from disk it asks for the folder.
func Copy(style []byte, more ...[]byte) Document {
	script := append([]byte("\n"), Script()...)
	for _, one := range more {
		script = append(append(script, '\n'), one...)
	}
	var b bytes.Buffer
	b.WriteString(before)
	b.Write(style)
	b.WriteString(between)
	b.Write(script)
	b.WriteString(after)
	return Document{b.Bytes(), script, style}
}

const before = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>Check a draw</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<link rel="icon" href="data:,">
<!-- To read how the check works, go on below, at "How a draw is checked". -->
<style>`

const between = `</style>
</head>
<body>
<header class="head"><p class="head-left">Check a draw</p></header>
<main id="main" class="sheet">
<div id="check">
<div id="check-said" role="status" aria-atomic="true"><h1>Check a draw, on your own device.</h1></div>
<div id="check-body"></div>
<div id="check-without"><p class="lead">This page does the whole draw again from its public files. It needs a script for that, and none is running.</p></div>
</div>
</main>
<script>`

const after = `</script>
</body>
</html>
`
