// Package show is the live event: the pictures that the stage shows one after
// another, who may move them, and what each picture may know.
//
// A show has one [State]. [Show] moves it by compare-and-swap on its version: of
// any number of people who press at the same instant one moves it, and all of
// them learn the state that stands. The move to [Opened] makes the draw, once,
// with its result held back; the move to the first place releases the result
// for viewers, a set delay later.
//
//	soon → tickets → locked → number → opened → line → first (each place) → next
//
// [Alternates] is shown only if it is asked for. What a picture shows is a
// [View], made of [Facts]; before the first place these know nothing of the
// result, so that nothing of it can be told. Viewers' pages follow the stage
// with [State.Seen].
package show
