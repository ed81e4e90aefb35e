// Package claims carries a prize from the drawn place to the parcel: the
// letter with the claim link, the winner's answer, what the sponsor sees and
// marks, and when time is up.
//
// # Where to start
//
// [CheckAddress] and [Decide] are pure: what was typed, the terms and the
// entry give an [Answer], and what to put right or to ask. A [Clerk] puts them
// to work: Letter and Noticed for the creator, Claim and Answer for the
// winner, Record for what came by chat or phone, Pass and Confirm, and
// SponsorLink, Sponsor and Mark for whoever sends the prize. ShowSum, AnswerSum
// and SkillAgain are the skill question, where the rules put one: [Skill].
// AskLetter, AskNoticed, Asked and AnswerAsk are the sponsor's questions to the
// winner. [Place.Waits] says why a confirmed prize can't be sent yet. News is
// what the winner's own private page may say.
//
// # What it promises
//
// A doubt is a question and never a refusal: [Doubt]. What was typed is kept
// beside what was made of it. An answer is final once sent; opened again the
// claim page shows no address. The sponsor sees confirmed places only, and a
// mark counts for what its page showed: [Saw]. What is in stock is so of one
// size, and once a parcel was sent nothing about it is corrected any more.
//
// Answers, questions, words and links are sealed before the [Store] sees
// them, bound to their giveaway and place; times, kinds, and how a skill question
// went are not. No error of this package bears a name, an address, a number or
// anything else typed.
//
// # Time
//
// The package has no clock. An answer period is a number of days of 24 hours
// from the time at which the letter was copied, up to the next full hour: a
// duration, so that a change of clocks shortens nobody's time
// (testdata/facts/time.md, section 2, rule 10).
//
// # Left to others
//
// What an outcome is and how it is published (giveaway, draw), sealing
// (vault), storing (store), pages (web). Nothing is mailed here: the creator
// copies the letters.
package claims
