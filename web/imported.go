package web

import (
	"context"

	"evenhand/entries"
)

// broughtIn says how many tickets did not come by the form, "" for none: a
// receipt of such a one proves less, since the host wrote it. The files don't
// show it, so the server says it.
func (s *Site) broughtIn(ctx context.Context, id string) (string, error) {
	if s.cfg.Desk.Counts == nil {
		return "", nil
	}
	counts, err := s.cfg.Desk.Counts(ctx, id)
	if err != nil {
		return "", err
	}
	file, paper := counts.ByOrigin[entries.OriginFile], counts.ByOrigin[entries.OriginPaper]
	switch {
	case file == 0 && paper == 0:
		return "", nil
	case paper == 0:
		return capitalized(many(file, "ticket was", "tickets were")) + " brought in by the host from a file. " + afterTheFact, nil
	case file == 0:
		return capitalized(many(paper, "ticket was", "tickets were")) + " typed in by the host from cards or letters. " + afterTheFact, nil
	}
	return capitalized(many(file, "ticket was", "tickets were")) + " brought in by the host from a file, and " +
		number(paper) + " typed in from cards or letters. " + afterTheFact, nil
}

const afterTheFact = "The host wrote their proofs of entry then, after the fact. The files of the draw don’t tell such tickets from others; this number is the host’s own word."

// cameWords say on a private page how an entry came, "" for the form.
func cameWords(origin, channel string) string {
	switch origin {
	case entries.OriginFile:
		return "This entry was brought in by " + channel + " from a file. The proof of entry was written then, and not when you entered."
	case entries.OriginPaper:
		return "This entry was typed in by " + channel + " from a card or letter. The proof of entry was written then, and not when it came."
	}
	return ""
}
