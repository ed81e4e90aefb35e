package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// ready are paragraphs for the rules that a caution asks for, by its code. They
// say what the creator then has to do; one press puts one into the terms.
// Source: what the caution itself names.
var ready = map[string]string{
	"L-C2": "A winner who lives in Canada is asked a skill question before the prize is sent: a sum, to be answered within a limited time and without help of any kind. The prize is sent only after the right answer.",
}

// readyWhy is the reason that the form proposes once the paragraph is there.
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

// addReady puts the ready paragraph of a caution into the terms. Pressed twice
// it stands there once.
func (d *desk) addReady(c echo.Context, g giveaway.Giveaway, rows []cautionRow) error {
	mark, err := draw.ParseDigest(c.FormValue("mark"))
	if err != nil {
		return errMalformed
	}
	i := slices.IndexFunc(rows, func(r cautionRow) bool { return r.Caution.Mark == mark })
	if i < 0 || rows[i].Ready == "" {
		return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
	}
	at := "/desk/g/" + g.ID + "/cautions#c-" + mark.String()
	if rows[i].HasReady {
		return c.Redirect(http.StatusSeeOther, at)
	}
	t := g.Terms
	t.Paragraphs = strings.TrimLeft(strings.TrimRight(t.Paragraphs, "\n ")+"\n\n"+rows[i].Ready, "\n")
	_, err = d.changeDraft(c, g, t)
	var wrong giveaway.Problems
	switch {
	case errors.Is(err, giveaway.ErrStale), errors.Is(err, giveaway.ErrState):
		return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
	case errors.As(err, &wrong):
		return d.showCautions(c, http.StatusUnprocessableEntity, g, rows, "The paragraph can’t be added: "+wrong[0].Text)
	case err != nil:
		return err
	}
	return c.Redirect(http.StatusSeeOther, at)
}

const wordCautionsMoved = "What you read has changed with the terms. Look again; nothing was marked."
