package giveaway

import "fmt"

// told says how winners learn of it, and what happens if they don't answer.
func (r *rulesPaper) told() {
	t := r.t
	r.head("How winners are told")
	from := t.Channel
	if t.Host != "" {
		from += " (" + t.Host + ")"
	}
	r.par("The tickets that win are shown in the draw and published. "+from+" writes to each winner at the e-mail address that was entered.",
		"A real message names your ticket and leads to a page of this giveaway’s own site, which shows what you entered and asks where the prize should go.",
		"The prize is free. A real message never asks for money, a card, a password or a code.")
	r.par("You have "+counted(t.AnswerDays, "day", "days")+" of 24 hours to answer, from the time of that message up to the next full hour. The message names the last moment.",
		"You give "+where(t.Sizes != nil, "your size, ")+"your name, your postal address and a phone number, and say that you are allowed to win by these rules"+where(t.MinAge > 0, " and are as old as they ask")+".")
	r.nextInLine()
	next := "the prize goes to the ticket that is next in line."
	if t.Alternates == 0 {
		next = "the prize is not given."
	}
	if t.Sizes != nil {
		r.par("If the sponsor can’t get a winner’s size, it offers other sizes where it has any, and the winner chooses one of them.",
			"If none of them suits, "+t.Channel+", the sponsor and the winner look for something else together. If nothing can be sent, "+next)
	}
	r.par("A winner can also give the prize back; then " + next)
}

func (r *rulesPaper) nextInLine() {
	lost := "If a winner does not answer in that time, would rather not have the prize, or is not allowed to win by these rules, "
	if r.t.Alternates == 0 {
		r.par(lost + "the prize is not given.")
		return
	}
	r.par(lost+"the prize goes to the ticket that is next in line, whose holder gets a message and the same number of days.",
		"If nobody is left in line, the prize is not given.")
}

// parcel says who sends what where, and who pays.
func (r *rulesPaper) parcel() {
	t := r.t
	r.head("The parcel")
	r.par("The sponsor sends the prize to the winner’s address, and pays for that.", r.carriers())
	if t.Region.SomeAbroad() && t.Region.Friend {
		r.par("If a friend receives the parcel for you, sending it on is between you and your friend, with postage, customs and all that it costs. Neither " + t.Channel + " nor the sponsor pays for it.")
	}
	r.par("Taxes on the prize, where there are any, are the winner’s own. If the sponsor needs a tax form before it may send the prize, it asks the winner for it directly, never on the entry page and never in public.")
}

func (r *rulesPaper) carriers() string {
	switch r.t.Carriers {
	case CarriersPost:
		return "It goes by the country’s post, which also delivers to PO Boxes and military addresses."
	case CarriersPrivate:
		return "It goes with a carrier that as a rule does not deliver to PO Boxes and military addresses."
	}
	return ""
}

// data says what is kept, who sees it, and when it is deleted.
func (r *rulesPaper) data() {
	t := r.t
	r.head("Your data")
	r.par(t.Channel + " keeps what you enter and uses it for this giveaway alone. The sponsor sees nothing of anybody but the " + r.winners() + ": for each, what the parcel needs, that is " +
		where(t.Sizes != nil, "the size, ") + "the name, the address and the phone number, with the ticket and the proof of its entry.")
	r.par("No list of names or addresses is published. Published are ticket numbers, each with a fingerprint from which nobody can tell what was entered. A name that you give for the show may be said there.")
	r.deletion()
	r.par("Who won: the tickets that won" + where(t.Alternates > 0, " and those next in line") + " are published with the result. " + t.Channel + " names them to anybody who asks, free of charge.")
}

// deletion says when personal data goes. [Ended] and [EraseAt] go by the same
// sentences.
func (r *rulesPaper) deletion() {
	t := r.t
	r.par(t.Channel+" has personal data deleted within "+counted(t.DaysKept(), "day", "days")+" after the "+r.prizes()+" arrived, or after the giveaway ended in another way. These are days of 24 hours, and this site does it by itself.",
		fmt.Sprintf("A prize has arrived when the sponsor says so on its page of this site; if it only says that it has sent the prize, %d days later.", arrivesDays),
		"A giveaway that is called off ends when that is published, and one that was drawn when every prize has arrived or can’t be given any more.",
		fmt.Sprintf("In any case it ends %d days after the draw was made. A giveaway that is neither drawn nor called off has not ended.", endsDays))
	r.par("Then every ticket’s e-mail address and all else that was entered or asked for is deleted. What was published bears no personal data and stays, and so does each ticket’s proof of entry. "+
		"Copies that were made against loss are kept for longer, until they are deleted in their turn.",
		"You can ask for your own data to be deleted earlier: you can withdraw until the list is locked; after that, ask "+hostOf(t)+", who can have it done unless your ticket may still get a prize.")
}

func hostOf(t Terms) string {
	if t.Host == "" {
		return t.Channel
	}
	return t.Channel + " (" + t.Host + ")"
}

// changes says what may change once this is posted.
func (r *rulesPaper) changes() {
	t := r.t
	r.head("If something changes")
	r.par("Once entries are taken, the end of entries and the draw can only be moved to a later time, and a change of these rules is published beside the old ones. What was posted before stays readable.")
	r.par(t.Channel + " can call the giveaway off until the draw is made. The reason is then published, nobody wins, and if another giveaway takes its place, that is published with it.")
	r.par(where(t.Follows != "", "This giveaway takes the place of one that was called off: "+t.Follows+"."))
	r.par("The short name of this giveaway is " + t.Draw + ".")
}
