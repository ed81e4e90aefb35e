package web

import (
	"cmp"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"evenhand/entries"
	"evenhand/giveaway"
)

// fewAnswers of a text question stand on the page of the entries; who asks for
// all gets mostAnswers a page.
const (
	fewAnswers  = 50
	mostAnswers = 1000
)

// An answered is one of the creator's own questions with what came. Nothing
// beside an answer says whose it is.
type answered struct {
	ID       string
	Question string
	Head     string    // how many answered
	Chart    *barChart // of a choice; nil where nobody chose yet
	Choices  []counted // the table under it
	Texts    []string
	From     string // which of the answers stand here, where they are not all
	Links    []step // to the others
}

// answers counts up what came in answer to the creator's own questions.
func (d *desk) answers(c echo.Context, g giveaway.Giveaway) ([]answered, error) {
	if len(g.Terms.Questions) == 0 || d.cfg.Desk.Answers == nil || !g.Erased.IsZero() || g.State == giveaway.StateDraft {
		return nil, nil
	}
	from, most := answersPage(c.QueryParams())
	all := entries.Tallies(g.Terms.Questions, from, most)
	err := d.cfg.Desk.Answers(c.Request().Context(), g.ID, func(answers map[string]string) {
		for _, t := range all {
			t.See(answers)
		}
	})
	shown := make([]answered, len(all))
	for i, t := range all {
		shown[i] = answeredOf(*t, from, most, "/desk/g/"+g.ID+"/entries")
	}
	return shown, err
}

// answersPage reads which answers of a text question are asked for.
func answersPage(q url.Values) (from int64, most int) {
	if q.Get("answers") != "all" {
		return 0, fewAnswers
	}
	from, err := strconv.ParseInt(q.Get("from"), 10, 64)
	if err != nil || from < 0 || from%mostAnswers != 0 {
		from = 0
	}
	return from, mostAnswers
}

func answeredOf(t entries.Tally, from int64, most int, path string) answered {
	a := answered{ID: "q-" + t.Question.Key, Question: t.Question.Label, Head: answeredWords(t), Texts: t.Texts}
	if t.Question.Kind == giveaway.KindChoice {
		a.choices(t)
		return a
	}
	n := int64(len(t.Texts))
	if n == t.Given {
		return a
	}
	a.From = "The newest " + number(n) + " stand here."
	if from > 0 {
		a.From = "From the newest on, these are numbers " + number(from+1) + " to " + number(from+n) + "."
	}
	more := func(text string, at int64) {
		a.Links = append(a.Links, step{text, path + "?answers=all&from=" + strconv.FormatInt(at, 10) + "#" + a.ID})
	}
	if most == fewAnswers {
		more("All "+number(t.Given)+" answers", 0)
		return a
	}
	if from > 0 {
		more("Newer ones", from-mostAnswers)
	}
	if from+n < t.Given {
		more("Older ones", from+mostAnswers)
	}
	return a
}

// answeredWords: "12 people answered; 3 left it empty." Of a choice it says
// what they chose, the most first.
func answeredWords(t entries.Tally) string {
	words := "Nobody answered yet"
	if t.Given > 0 {
		words = capitalized(many(t.Given, "person", "people")) + " answered"
	}
	chosen := slices.Clone(t.Question.Choices)
	slices.SortStableFunc(chosen, func(a, b string) int { return cmp.Compare(t.ByChoice[b], t.ByChoice[a]) })
	var said []string
	for _, answer := range chosen {
		if n := t.ByChoice[answer]; n > 0 {
			said = append(said, "“"+answer+"” "+number(n))
		}
	}
	if len(said) > 0 {
		words += ": " + strings.Join(said, ", ")
	}
	if t.Empty > 0 {
		words += "; " + many(t.Empty, "left it empty", "left it empty")
	}
	return words + "."
}

// choices makes the chart and the table under it.
func (a *answered) choices(t entries.Tally) {
	for _, answer := range t.Question.Choices {
		a.Choices = append(a.Choices, counted{answer, number(t.ByChoice[answer])})
	}
	if t.Given > 0 {
		a.Chart = choiceChart(t)
	}
}

// A barChart has a bar for each answer, one under the other, with the answer
// above it: answers are too long to stand under bars.
type barChart struct {
	W, H int
	Bars []bar
}

const (
	linesWide = 320 // fits a phone
	lineHigh  = 52
	lineText  = 36 // characters of an answer that fit above its bar
	valueRoom = 60
)

func choiceChart(t entries.Tally) *barChart {
	c := &barChart{W: linesWide, H: lineHigh * len(t.Question.Choices)}
	most := int64(1)
	for _, n := range t.ByChoice {
		most = max(most, n)
	}
	for i, answer := range t.Question.Choices {
		n := t.ByChoice[answer]
		wide, top := int(n*(linesWide-valueRoom)/most), i*lineHigh
		c.Bars = append(c.Bars, bar{Label: shortened(answer, lineText), Value: number(n), Y: top + 24, W: wide, H: 18, Mid: wide + 8, LabelY: top + 17, ValueY: top + 39})
	}
	return c
}

// shortened cuts what is longer than n characters; the table has it whole.
func shortened(text string, n int) string {
	if utf8.RuneCountInString(text) <= n {
		return text
	}
	return strings.TrimSpace(string([]rune(text)[:n-1])) + "…"
}

// answersOf are the answers of one entry, by question; those left empty are
// left out.
func answersOf(g giveaway.Giveaway, e entries.Entry) []fact {
	var all []fact
	for _, q := range g.Terms.Questions {
		if answer := e.Answers[q.Key]; answer != "" {
			all = append(all, fact{q.Label, answer})
		}
	}
	return all
}
