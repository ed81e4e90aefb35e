package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"strings"

	"evenhand/entries"
)

// answerPrefix begins the field names of the creator's own questions.
const answerPrefix = "answers."

// decodeForm reads what a browser sent.
func decodeForm(r *http.Request) (entries.Form, error) {
	if err := r.ParseForm(); err != nil {
		return entries.Form{}, unreadable(err)
	}
	v := r.PostForm
	takeInto(v, entryOffers)
	f := entries.Form{
		Email: v.Get("email"), System: v.Get("system"), Size: v.Get("size"), Width: v.Get("width"),
		Live: v.Get("live"), State: v.Get("state"), Ship: v.Get("ship"), ShipState: v.Get("ship_state"),
		Friend: v.Get("friend"), Name: v.Get("name"), Age: v.Get("age"), Barred: v.Get("barred"), Rules: v.Get("rules"), Step: v.Get("step"),
		EmailSeen: v.Get("email_seen"), SizeSeen: v.Get("size_seen"), Once: v.Get("once"),
	}
	for name := range v {
		if key, ok := strings.CutPrefix(name, answerPrefix); ok {
			if f.Answers == nil {
				f.Answers = map[string]string{}
			}
			f.Answers[key] = v.Get(name)
		}
	}
	return f, nil
}

// entryOffers are the fields that the button of an offer may fill.
var entryOffers = []string{"email", "system", "size", "width"}

// A scalar is a string, number or true or false of JSON, as text.
type scalar string

// UnmarshalJSON takes no list, no object; null is "".
func (s *scalar) UnmarshalJSON(b []byte) error {
	switch {
	case len(b) > 0 && b[0] == '"':
		return json.Unmarshal(b, (*string)(s))
	case string(b) == "null":
		*s = ""
		return nil
	case len(b) > 0 && (b[0] == '{' || b[0] == '['):
		return errors.New("want text, a number, true or false")
	}
	*s = scalar(b)
	return nil
}

// jsonForm is an entry as a program sends it.
type jsonForm struct {
	Email     scalar            `json:"email"`
	System    scalar            `json:"system"`
	Size      scalar            `json:"size"`
	Width     scalar            `json:"width"`
	Live      scalar            `json:"live"`
	State     scalar            `json:"state"`
	Ship      scalar            `json:"ship"`
	ShipState scalar            `json:"ship_state"`
	Friend    scalar            `json:"friend"`
	Name      scalar            `json:"name"`
	Age       scalar            `json:"age"`
	Rules     scalar            `json:"rules"`
	Barred    scalar            `json:"barred"`
	Step      scalar            `json:"step"`
	Answers   map[string]scalar `json:"answers"`
}

// decodeJSON reads what a program sent: one object with no other names, and in
// the header Idempotency-Key, if it likes, 128 random bits as 22 characters of
// base64url, with which it may send the same again. A
// program that sends a value means it, so what would be asked about first
// ("did you mean …?") is taken as it is and comes back as a hint.
func decodeJSON(r *http.Request) (entries.Form, error) {
	var j jsonForm
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(&j); err != nil {
		return entries.Form{}, unreadable(err)
	}
	if d.More() {
		return entries.Form{}, errMalformed
	}
	f := entries.Form{
		Email: string(j.Email), System: string(j.System), Size: string(j.Size), Width: string(j.Width),
		Live: string(j.Live), State: string(j.State), Ship: string(j.Ship), ShipState: string(j.ShipState),
		Friend: string(j.Friend), Name: string(j.Name), Age: string(j.Age), Barred: string(j.Barred), Rules: string(j.Rules), Step: string(j.Step),
	}
	if len(j.Answers) > 0 {
		f.Answers = map[string]string{}
		for key, a := range j.Answers {
			f.Answers[key] = string(a)
		}
	}
	f.EmailSeen, f.SizeSeen = f.Email, f.SizeTyped()
	f.Once = strings.Trim(r.Header.Get("Idempotency-Key"), `"`)
	return f, nil
}

// unreadable keeps what was sent out of the error: only whether it was too
// long is told apart.
func unreadable(err error) error {
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		return errTooLong
	}
	return errMalformed
}
