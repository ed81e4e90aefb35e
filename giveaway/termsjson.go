package giveaway

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"evenhand/draw"
	"evenhand/sizing"
)

// maxTerms bounds a terms file, in bytes.
const maxTerms = 1 << 20

// ReadTerms reads the JSON of terms, 1 MiB at most, fills in what may be left
// out (answer_days, lock_minutes, keep_days, beacon, the sizes' scale, and the
// utc of a moment whose wall time has one meaning) and checks all of it. A name that is not a field, a
// name twice, a name in other case, or anything after the value is an error;
// what is wrong in the fields is [Problems], all of it at once.
func ReadTerms(r io.Reader) (Terms, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxTerms+1))
	if err != nil {
		return Terms{}, fmt.Errorf("read terms: %w", err)
	}
	t, err := decodeTerms(data)
	if err != nil {
		return Terms{}, fmt.Errorf("read terms: %w", err)
	}
	t.fill()
	return t, t.Validate()
}

// JSON writes the terms in the one form in which they are stored: indented,
// with a line end. [ReadTerms] reads it back to the same value.
func (t Terms) JSON() ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(t); err != nil {
		return nil, fmt.Errorf("write terms: %w", err)
	}
	return b.Bytes(), nil
}

// decodeTerms decodes without judging the values.
func decodeTerms(data []byte) (Terms, error) {
	if len(data) > maxTerms {
		return Terms{}, fmt.Errorf("longer than %d bytes", maxTerms)
	}
	if !utf8.Valid(data) {
		return Terms{}, errors.New("not UTF-8")
	}
	if err := exactNames(data); err != nil {
		return Terms{}, err
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	var t Terms
	if err := dec.Decode(&t); err != nil {
		var kind *json.UnmarshalTypeError
		if errors.As(err, &kind) {
			return Terms{}, fmt.Errorf("“%s” can't be a %s", kind.Field, kind.Value)
		}
		return Terms{}, errors.New(strings.TrimPrefix(err.Error(), "json: "))
	}
	if _, err := dec.Token(); err != io.EOF {
		return Terms{}, errors.New("something stands after the value")
	}
	return t, nil
}

// exactNames refuses what encoding/json lets pass: a name twice in one object,
// of which the last would win in silence, and names in other case. All names
// in terms are lower case.
func exactNames(data []byte) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	var open []map[string]bool // one for each open object; nil for an array
	name := false              // the next string token is a name
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return errors.New("not JSON: " + err.Error())
		}
		switch tok {
		case json.Delim('{'):
			open, name = append(open, map[string]bool{}), true
			continue
		case json.Delim('['):
			open, name = append(open, nil), false
			continue
		case json.Delim('}'), json.Delim(']'):
			open = open[:len(open)-1]
		default:
			if s, ok := tok.(string); ok && name {
				names := open[len(open)-1]
				if names[s] || s != strings.ToLower(s) {
					return fmt.Errorf("the name %.40q stands twice or is not in lower case", s)
				}
				names[s], name = true, false
				continue
			}
		}
		name = len(open) > 0 && open[len(open)-1] != nil
	}
}

// fill sets what may be left out.
func (t *Terms) fill() {
	if t.AnswerDays == 0 {
		t.AnswerDays = DefaultAnswerDays
	}
	if t.LockMinutes == 0 {
		t.LockMinutes = DefaultLockMinutes
	}
	if t.KeepDays == 0 {
		t.KeepDays = DefaultKeepDays
	}
	if t.Beacon == "" {
		t.Beacon = BeaconQuicknet
	}
	if t.Sizes != nil && t.Sizes.Scale == 0 {
		t.Sizes.Scale = sizing.Common
	}
	for _, m := range []*Moment{&t.Opens, &t.Closes, &t.Event} {
		m.fill()
	}
}

// fill computes the instant of a moment that has none, if the wall time has
// one meaning, and brings the rest to its one form.
func (m *Moment) fill() {
	if m.UTC.IsZero() {
		if full, err := ParseMoment(m.Local, m.Zone, 0); err == nil {
			*m = full
		}
		return
	}
	m.UTC = m.UTC.UTC()
	if _, canonical, err := parseLocal(m.Local); err == nil {
		m.Local = canonical
	}
}

// Mark tells terms from any others: the hash of their JSON. Values that can not
// be written as JSON have the zero mark, and can't be stored either.
func (t Terms) Mark() draw.Digest {
	b, err := t.JSON()
	if err != nil {
		return draw.Digest{}
	}
	return draw.Hash(b)
}
