package giveaway

import (
	"fmt"
	"slices"
	"strconv"
)

// enter says how to enter, and until when.
func (r *rulesPaper) enter() {
	t := r.t
	r.head("How to enter")
	r.par("Entering is free. Nothing has to be bought or paid, and no purchase or payment changes your chance.",
		"You enter with the form on the giveaway’s own page. It asks for your e-mail address, "+where(t.Sizes != nil, "your size, ")+"where you live and where the parcel would go"+where(t.MinAge > 0, ", and your age range")+". You can add a name to be said on the show.",
		"If "+t.Channel+" takes entries in another way too, such as on paper, these rules hold for them as well, and they are on the same list.")
	r.par("Entries are taken from "+both(t.Opens)+".",
		"They end at "+both(t.Closes)+": an entry at that very moment or after it is too late. The clock of the server that takes the entries counts.",
		"If the posted terms are changed to a later time, that later time counts and not the one here.")
	r.par("One entry counts for each e-mail address. Capital letters, what stands between a + and the @, and dots before the @ at a provider that ignores them make no other address.")
	r.steps()
	r.questions()
	r.par("You get a ticket number and a signed proof of entry. Until the list is locked you can " + where(t.Sizes != nil, "change your size or ") + "take your entry back on your private page.")
}

func (r *rulesPaper) steps() {
	t := r.t
	r.par(where(t.Steps != "", t.Channel+" asks you also: “"+t.Steps+"” That is a wish. Who leaves it out has the same chance as everybody else."))
	if slices.Contains(t.StepKinds, StepShare) || slices.Contains(t.StepKinds, StepReview) {
		r.par("If you post, share or review anything for this giveaway, say in it that you do so for a chance to win a prize from "+t.Sponsor+".",
			where(slices.Contains(t.StepKinds, StepReview), "Whether you praise or fault something changes nothing."))
	}
}

func (r *rulesPaper) questions() {
	if len(r.t.Questions) == 0 {
		return
	}
	r.par("The form also asks this. What you answer changes nobody’s chance.")
	var lines []string
	for _, q := range r.t.Questions {
		line := "“" + q.Label + "”"
		if q.Kind == KindChoice {
			line += " with the choices " + listed(q.Choices, "or")
		}
		if q.Required {
			lines = append(lines, line+" (has to be answered)")
		} else {
			lines = append(lines, line+" (may be left empty)")
		}
	}
	r.items(lines)
}

// draw says when and how it is made.
func (r *rulesPaper) draw() {
	t := r.t
	r.head("The draw")
	r.par("The draw is made live, not before "+both(t.Event)+".",
		"If the posted terms are changed to a later time, that later time counts and not the one here.")
	r.par("All tickets on the list have the same chance. How good it is depends on how many tickets are on it. "+r.oneList(), r.line())
	r.par("The draw is made so that anybody can check it:")
	r.items(r.method())
}

func (r *rulesPaper) oneList() string {
	if r.many() {
		return "All prizes are drawn from this one list, wherever people live; a ticket can win one of them."
	}
	return "It is one list, wherever people live."
}

func (r *rulesPaper) line() string {
	if r.t.Alternates == 0 {
		return "Nobody is next in line behind the " + r.winners() + "."
	}
	return fmt.Sprintf("Behind the %s the draw also settles the order of the next %s in line.", r.winners(), counted(r.t.Alternates, "ticket", "tickets"))
}

func (r *rulesPaper) winners() string {
	if r.many() {
		return "winners"
	}
	return "winner"
}

// method is the draw in plain words, a step an item.
func (r *rulesPaper) method() []string {
	t := r.t
	steps := []string{
		t.Channel + " has made a secret number and locked it in advance: its fingerprint stands in the posted terms, so that it can’t be exchanged.",
	}
	for _, s := range t.Seconds {
		steps = append(steps, s.Who+" has made another secret number, locked in the same way. If it does not arrive in time, the draw is made without it, and its result says so.")
	}
	steps = append(steps, fmt.Sprintf("After entries have ended the list of tickets is locked and published, with its fingerprint: %s before the draw at the latest, or as soon as entries have ended, if that is later. A ticket that is not in the draw is published too, with the reason: entered twice, taken back, or outside these rules.", counted(t.LockMinutes, "minute", "minutes")),
		r.publicNumber(),
		"From all of these, and nothing else, comes the draw number, and from it a number for each ticket. "+r.lowest()+" The secret "+r.numbers()+" then published, so that anybody can work it out again.")
	return steps
}

func (r *rulesPaper) publicNumber() string {
	if r.t.Beacon == BeaconNone {
		return "No public number goes into the draw. Whoever knows all secret numbers could work out the result from the locked list before the draw."
	}
	return "A public number goes into the draw. It is made by a network that nobody here runs, appears at the time of the draw, and can’t be known before."
}

func (r *rulesPaper) lowest() string {
	if r.many() {
		return "The " + strconv.Itoa(r.t.Winners) + " tickets with the lowest numbers win."
	}
	return "The ticket with the lowest number wins."
}

func (r *rulesPaper) numbers() string {
	if len(r.t.Seconds) > 0 {
		return "numbers that went in are"
	}
	return "number is"
}

// counted is a number with its word.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
