package entries

import "testing"

// What nobody sees is no name, but for the joiners that scripts and emoji need.
// Source: UAX #31, section 2.3 (U+200C between Persian letters); UTS #51, section
// 2.3 (emoji joined by U+200D); DerivedCoreProperties.txt, Default_Ignorable
// (U+3164, U+115F). The names are invented.
func TestNamesThatAreSeen(t *testing.T) {
	for typed, ok := range map[string]bool{
		"مه\u200cناز":            true,
		"Robin 👩\u200d👩\u200d👧":  true,
		"Kim 🧗🏽\u200d♀\ufe0f":    true,
		"Robin\u200cWells\u200c": false,
		"\u200cRobin":            false,
		"مه\u200c\u200cناز":      false,
		"Ro\u200dbin":            false,
		"\u3164":                 false,
		"Robin\u115f":            false,
		"\u2800\u2800":           false,
		"Robin\u200b":            false,
		"Zoë O’Hara":             true,
		"क\u094dष":               true,
		"\u2066Robin\u2069":      false,
		"👧\u200d":                false,
	} {
		name, text := PlainName(typed)
		if (text == "") != ok || ok && name != typed {
			t.Errorf("%+q: name %+q, %q; want it taken: %v", typed, name, text, ok)
		}
	}
}
