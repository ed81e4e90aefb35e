package entries

import "evenhand/giveaway"

// A Tally is what came in answer to one of the creator's own questions. It
// holds nothing that says whose an answer is, but what the answer itself says.
type Tally struct {
	Question giveaway.Question
	Given    int64            // how many answered
	Empty    int64            // how many left it empty
	ByChoice map[string]int64 // of a choice: answer → number
	Texts    []string         // of a text: the answers of the part that was asked for
	from     int64
	most     int
}

// Tallies are made for the terms' questions. Of a text's answers they keep
// most, after the first from.
func Tallies(questions []giveaway.Question, from int64, most int) []*Tally {
	all := make([]*Tally, len(questions))
	for i, q := range questions {
		all[i] = &Tally{Question: q, ByChoice: map[string]int64{}, from: from, most: most}
	}
	return all
}

// See counts one entry's answers.
func (t *Tally) See(answers map[string]string) {
	answer := answers[t.Question.Key]
	switch {
	case answer == "":
		t.Empty++
		return
	case t.Question.Kind == giveaway.KindChoice:
		t.ByChoice[answer]++
	case t.Given >= t.from && len(t.Texts) < t.most:
		t.Texts = append(t.Texts, answer)
	}
	t.Given++
}
