package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// ready are paragraphs for the rules that a caution asks for, by its code. They
// say what the creator then has to do; one press puts one into the terms.
// Source: what the caution itself names.
var ready = map[string]string{
	"L-C2": "A winner who lives in Canada is asked a skill question before the prize is sent: a sum, to be answered within a limited time and without help of any kind. The prize is sent only after the right answer.",
}

// readyWhy is the reason that is kept where the paragraph was put in.
const readyWhy = "The rules have a paragraph about it."

// readyFor is the paragraph for a caution and whether the terms have it; ""
// where there is none, or the rules are a text of one's own.
func readyFor(t giveaway.Terms, code string) (text string, there bool) {
	if t.Rules != "" && !t.RulesWritten {
		return "", false
	}
	text = ready[code]
	return text, text != "" && slices.Contains(strings.Split(t.Paragraphs, "\n\n"), text)
}

// addReady puts the ready paragraph of a caution into the terms, marks the
// caution as read and leads on. Pressed twice the paragraph stands there once.
func (d *desk) addReady(c echo.Context, g giveaway.Giveaway, rows []cautionRow) error {
	these, err := marked(rows, []string{c.FormValue("mark")})
	switch {
	case err != nil:
		return err
	case these == nil || rows[these[0]].Ready == "":
		return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
	}
	after := rows
	if r := rows[these[0]]; !r.HasReady {
		changed, err := d.changeDraft(c, g, withParagraph(g.Terms, r.Ready))
		var wrong giveaway.Problems
		switch {
		case errors.Is(err, giveaway.ErrStale), errors.Is(err, giveaway.ErrState):
			return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
		case errors.As(err, &wrong):
			return d.showCautions(c, http.StatusUnprocessableEntity, g, rows, "The paragraph can’t be added: "+wrong[0].Text)
		case err != nil:
			return err
		}
		if after, err = d.cautionRows(c, changed); err != nil {
			return err
		}
	}
	return d.markRead(c, g, after, stillThere(rows, these, after))
}

// withParagraph are terms with one more paragraph at the end of one's own.
func withParagraph(t giveaway.Terms, text string) giveaway.Terms {
	t.Paragraphs = strings.TrimLeft(strings.TrimRight(t.Paragraphs, "\n ")+"\n\n"+text, "\n")
	return t
}

const wordCautionsMoved = "What you read has changed with the terms. Look again; nothing was marked."
