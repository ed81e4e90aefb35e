package main

import (
	"regexp"
)

var (
	markInput = regexp.MustCompile(`name="mark" value="([0-9a-f]{64})"`)
	sureInput = regexp.MustCompile(`name="sure" value="([0-9a-f]+)"`)
)

// reads marks all cautions of a draft as read, each by its own button.
func (v *visitor) reads(id string) {
	v.t.Helper()
	path := "/desk/g/" + id + "/cautions"
	for _, m := range markInput.FindAllStringSubmatch(v.get(path).body, -1) {
		v.goes(path, path, "mark", m[1], "why", "A lawyer looked at it.")
	}
}

// posts reads what there is to look at and posts a draft.
func (v *visitor) posts(id string) {
	v.t.Helper()
	v.reads(id)
	v.shows("/desk/g/"+id+"/post", "Once posted, these terms bind you.")
	v.goes("/desk/g/"+id+"/spread", "/desk/g/"+id+"/post")
}

// changes sends the form of “Change something”, and confirms what is shown
// then. The answer is that of the form where nothing is to be confirmed.
func (v *visitor) changes(path string, pairs ...string) answer {
	v.t.Helper()
	a := v.press(path, pairs...)
	m := sureInput.FindStringSubmatch(a.body)
	if a.status != 200 || m == nil {
		return a
	}
	return v.press(path, append(pairs, "sure", m[1])...)
}

// changed changes and expects to be led to the day-book.
func (v *visitor) changed(id string, pairs ...string) {
	v.t.Helper()
	if a := v.changes("/desk/g/"+id+"/later", pairs...); a.status != 303 || a.to != "/desk/g/"+id {
		v.t.Fatalf("the change: status %d to %q: %s", a.status, a.to, textOf(a.body))
	}
}
