package web

import (
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// draftChanged begins the log's line about a changed draft; the day-book makes
// a row of its own of it.
const draftChanged = "You changed the draft: "

// mostChanged is how many changed parts a line names.
const mostChanged = 8

// changeDraft changes a draft, and writes into the log which parts changed;
// not what stood there, since addresses can stand there.
func (d *desk) changeDraft(c echo.Context, old giveaway.Giveaway, t giveaway.Terms) (giveaway.Giveaway, error) {
	g, err := d.cfg.Host.ChangeDraft(uncut(c), old.Terms.Mark(), t)
	if err != nil {
		return g, err
	}
	if parts := changedParts(old.Terms, g.Terms); len(parts) > 0 {
		err = d.cfg.Host.Log(uncut(c), now(c), g.ID, draftChanged+partWords(parts)+".")
	}
	return g, err
}

// changedParts name what differs between two drafts, in the order of the page
// that shows them before posting.
func changedParts(old, next giveaway.Terms) (parts []string) {
	was, is := factTexts(old), factTexts(next)
	for _, f := range append(factsOf(old), factsOf(next)...) {
		if was[f.Name] != is[f.Name] && !slices.Contains(parts, f.Name) {
			parts = append(parts, f.Name)
		}
	}
	if old.Paragraphs != next.Paragraphs {
		parts = append(parts, "Your own paragraphs in the rules")
	}
	if old.Rules != next.Rules {
		parts = append(parts, "The text of the rules")
	}
	return parts
}

// factTexts are the facts by name; one name can have several.
func factTexts(t giveaway.Terms) map[string]string {
	texts := map[string]string{}
	for _, f := range factsOf(t) {
		texts[f.Name] += f.Text + "\n"
	}
	return texts
}

func partWords(parts []string) string {
	if more := len(parts) - mostChanged; more > 0 {
		return strings.Join(parts[:mostChanged], "; ") + "; and " + count(int64(more), "other part", "other parts")
	}
	return strings.Join(parts, "; ")
}
