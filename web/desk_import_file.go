package web

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"evenhand/entries"
)

// commaNames are what may part the cells of a file, in words.
var commaNames = map[string]string{",": "commas", ";": "semicolons", "\t": "tabs"}

// commaOf is what parts the cells.
func commaOf(c string) rune { r, _ := utf8.DecodeRuneInString(c); return r }

// guessComma takes what stands most often in the header, outside of quotes.
func guessComma(file []byte) string {
	counts := map[string]int{}
	quoted := false
	for _, b := range file[:min(len(file), 64<<10)] {
		switch {
		case b == '"':
			quoted = !quoted
		case quoted:
		case b == '\n' && len(counts) > 0:
			return mostOf(counts)
		case b == ',', b == ';', b == '\t':
			counts[string(b)]++
		}
	}
	return mostOf(counts)
}

func mostOf(counts map[string]int) string {
	best := ","
	for _, c := range []string{";", "\t"} {
		if counts[c] > counts[best] {
			best = c
		}
	}
	return best
}

// The first bytes of what people take for a CSV file: a ZIP archive, as newer
// spreadsheets save (APPNOTE.TXT, section 4.3.7), and a compound file, as old
// ones do ([MS-CFB], section 2.2).
var bookMarks = [][]byte{[]byte("PK\x03\x04"), []byte("\xd0\xcf\x11\xe0")}

// uploadProblem says why a file can't be read at all, "" if it can. It says
// nothing of what stands in it.
func uploadProblem(file []byte, comma string) string {
	if len(file) == 0 {
		return "Choose a file first. If you did, it is empty."
	}
	for _, mark := range bookMarks {
		if bytes.HasPrefix(file, mark) {
			return "This is a spreadsheet’s own file. Open it there, save or download it as CSV, and choose that."
		}
	}
	switch {
	case bytes.HasPrefix(file, []byte{0xff, 0xfe}), bytes.HasPrefix(file, []byte{0xfe, 0xff}):
		return "The file is written in UTF-16, which can’t be read here. Save it anew as “CSV UTF-8”."
	case bytes.IndexByte(file, 0) >= 0:
		return "This is not a file of text. Save the entries as CSV, and choose that."
	case !utf8.Valid(file):
		return "Letters such as é or ü can’t be read in this file: it is not UTF-8. Save it anew as “CSV UTF-8”."
	}
	head, err := entries.ReadHead(bytes.NewReader(file), commaOf(comma), 0)
	switch {
	case err != nil:
		return capitalized(err.Error()) + "."
	case looksLikeEntry(head.Columns):
		return "The first row looks like an entry. It has to name the columns, such as “E-mail”, “Time”, “Country”. Add such a row on top, and choose the file again."
	case len(head.Columns) == 1:
		return "The first row has one column only. Choose another way in which the cells are parted."
	case head.Rows == 0:
		return "The file has a row that names the columns, and no entries below it."
	case head.Rows > maxUploadRows:
		return "The file has " + number(int64(head.Rows)) + " rows; " + number(maxUploadRows) + " can be read at once. Part it into several files."
	}
	return ""
}

// looksLikeEntry reports whether an address stands where the columns should be
// named.
func looksLikeEntry(columns []string) bool {
	for _, c := range columns {
		if strings.Contains(c, "@") {
			if _, err := entries.Canonical(c); err == nil {
				return true
			}
		}
	}
	return false
}
