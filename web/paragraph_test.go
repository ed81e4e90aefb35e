package web

import (
	"reflect"
	"testing"
)

// The right values were made by hand: what a reader sees as one paragraph.
func TestParagraphs(t *testing.T) {
	const typed = "Rules of the giveaway\r\nSlow Miles\r\n\r\n\r\n" +
		"1. Entering is free. Nothing has to be bought, and buying something does not\n   change your chance.\n" +
		"2. One entry a person.\n- also by post\n\n" +
		"(a) <b>The draw</b>\n\nA long line that goes on for far more than sixty characters, since nobody broke it.\n"
	want := []paragraph{
		{false, []string{"Rules of the giveaway", "Slow Miles"}},
		{true, []string{"1. Entering is free. Nothing has to be bought, and buying something does not change your chance."}},
		{true, []string{"2. One entry a person."}},
		{true, []string{"- also by post"}},
		{true, []string{"(a) <b>The draw</b>"}},
		{false, []string{"A long line that goes on for far more than sixty characters, since nobody broke it."}},
	}
	if got := paragraphs(typed); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	if got := paragraphs(" \n\n"); got != nil {
		t.Errorf("a blank text makes %v", got)
	}
}
