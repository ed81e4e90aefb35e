package web

import (
	"errors"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// ready are paragraphs for the rules that a caution asks for, by its code; one
// press puts one into the terms, and then the caution is not raised any more.
var ready = map[string]string{"L-C2": giveaway.SkillParagraph}

// readyFor is the paragraph for a caution; "" where there is none, or the rules
// are a text of one's own.
func readyFor(t giveaway.Terms, code string) string {
	if t.Rules != "" && !t.RulesWritten {
		return ""
	}
	return ready[code]
}

// addReady puts the ready paragraph of a caution into the terms and leads on.
// Pressed twice the paragraph stands there once.
func (d *desk) addReady(c echo.Context, g giveaway.Giveaway, rows []cautionRow) error {
	mark := c.FormValue("mark")
	these, err := marked(rows, []string{mark})
	switch {
	case err != nil:
		return err
	case these == nil || rows[these[0]].Ready == "":
		return d.readyBefore(c, g, rows, mark)
	}
	changed, err := d.changeDraft(c, g, withParagraph(g.Terms, rows[these[0]].Ready))
	var wrong giveaway.Problems
	switch {
	case errors.Is(err, giveaway.ErrStale), errors.Is(err, giveaway.ErrState):
		return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
	case errors.As(err, &wrong):
		return d.showCautions(c, http.StatusUnprocessableEntity, g, rows, "The paragraph can’t be added: "+wrong[0].Text)
	case err != nil:
		return err
	}
	after, err := d.cautionRows(c, changed)
	if err != nil {
		return err
	}
	return toUnread(c, changed, after)
}

// readyBefore leads on where a caution is gone because its paragraph was added a
// moment ago: without the paragraph it would be there, under the same mark.
func (d *desk) readyBefore(c echo.Context, g giveaway.Giveaway, rows []cautionRow, mark string) error {
	for _, text := range ready {
		before := g
		before.Terms.Paragraphs = strings.ReplaceAll(g.Terms.Paragraphs, text, "")
		was, err := d.cautionRows(c, before)
		if err != nil {
			return err
		}
		if these, err := marked(was, []string{mark}); err == nil && these != nil && was[these[0]].Ready == text {
			return toUnread(c, g, rows)
		}
	}
	return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
}

// withParagraph are terms with one more paragraph at the end of one's own.
func withParagraph(t giveaway.Terms, text string) giveaway.Terms {
	t.Paragraphs = strings.TrimLeft(strings.TrimRight(t.Paragraphs, "\n ")+"\n\n"+text, "\n")
	return t
}

const wordCautionsMoved = "What you read has changed with the terms. Look again; nothing was marked."
