package cautions

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strings"
)

// The small language of a rule's "when":
//
//	or   = and { "or" and }
//	and  = not { "and" not }
//	not  = "not" not | "(" or ")" | name [ test ]
//	test = ("==" | "<" | "<=" | ">" | ">=") (number | name)
//	     | "has" word | "has any of" "[" word { "," word } "]"
//
// A name is one of [kinds], or the id of a rule that stands before. A word is
// taken as it is; @EEA stands for all words of that set. What is not known is
// neither true nor false, and so is what hangs on it (Kleene's three values).

// truth is no, maybe or yes.
type truth int

const (
	no truth = iota
	maybe
	yes
)

func truthOf(b bool) truth {
	if b {
		return yes
	}
	return no
}

// A kind says what a name stands for.
type kind int

const (
	isBool   kind = iota
	isNumber      // *big.Rat
	isList        // []string
)

// env holds the values: bool, *big.Rat or []string; nil for what is not known.
type env map[string]any

// A node is a part of an expression.
type node func(env) truth

var token = regexp.MustCompile(`^\s*([A-Za-z@][A-Za-z0-9_.@-]*|[0-9]+(?:\.[0-9]+)?|==|<=|>=|<|>|[()\[\],])`)

// A reader reads an expression.
type reader struct {
	tokens []string
	kinds  map[string]kind
	sets   map[string][]string
	err    error
}

// compile reads an expression whole. A name that is not known, a name of
// another kind than its use wants, or anything left over is an error.
func compile(text string, kinds map[string]kind, sets map[string][]string) (node, error) {
	r := reader{kinds: kinds, sets: sets}
	for rest := strings.TrimSpace(text); rest != ""; {
		m := token.FindStringSubmatch(rest)
		if m == nil {
			return nil, fmt.Errorf("read %q: strange sign at %q", text, rest)
		}
		r.tokens = append(r.tokens, m[1])
		rest = strings.TrimSpace(rest[len(m[0]):])
	}
	n := r.or()
	if len(r.tokens) > 0 {
		r.fail("the end")
	}
	if r.err != nil {
		return nil, fmt.Errorf("read %q: %w", text, r.err)
	}
	return n, nil
}

func (r *reader) fail(want string) {
	if r.err == nil {
		r.err = fmt.Errorf("want %s before %q", want, strings.Join(r.tokens, " "))
	}
	r.tokens = nil
}

// take takes the next token if it is one of these.
func (r *reader) take(one ...string) (string, bool) {
	if len(r.tokens) == 0 || !slices.Contains(one, r.tokens[0]) {
		return "", false
	}
	t := r.tokens[0]
	r.tokens = r.tokens[1:]
	return t, true
}

// next takes the next token, whatever it is; "" at the end.
func (r *reader) next() string {
	if len(r.tokens) == 0 {
		return ""
	}
	t := r.tokens[0]
	r.tokens = r.tokens[1:]
	return t
}

func (r *reader) or() node { return r.chain("or", r.and, func(a, b truth) truth { return max(a, b) }) }
func (r *reader) and() node {
	return r.chain("and", r.not, func(a, b truth) truth { return min(a, b) })
}

func (r *reader) chain(word string, part func() node, join func(a, b truth) truth) node {
	all := part()
	for {
		if _, ok := r.take(word); !ok {
			return all
		}
		left, right := all, part()
		all = func(e env) truth { return join(left(e), right(e)) }
	}
}

func (r *reader) not() node {
	if _, ok := r.take("not"); ok {
		part := r.not()
		return func(e env) truth { return yes - part(e) }
	}
	if _, ok := r.take("("); ok {
		part := r.or()
		if _, ok := r.take(")"); !ok {
			r.fail(")")
		}
		return part
	}
	return r.name()
}

func (r *reader) name() node {
	name := r.next()
	k, known := r.kinds[name]
	if !known {
		r.fail("a known name in place of " + name)
	}
	if _, ok := r.take("has"); ok {
		return r.has(name, k)
	}
	if op, ok := r.take("==", "<", "<=", ">", ">="); ok {
		return r.compare(name, k, op)
	}
	if k != isBool {
		r.fail("a test of " + name)
	}
	return func(e env) truth {
		b, ok := e[name].(bool)
		if !ok {
			return maybe
		}
		return truthOf(b)
	}
}

// has tests a list.
func (r *reader) has(name string, k kind) node {
	words := []string{}
	if _, ok := r.take("any"); ok {
		words = r.words()
	} else {
		words = append(words, r.word()...)
	}
	if k != isList {
		r.fail("a list in place of " + name)
	}
	return func(e env) truth {
		list, ok := e[name].([]string)
		if !ok {
			return maybe
		}
		return truthOf(slices.ContainsFunc(words, func(w string) bool { return slices.Contains(list, w) }))
	}
}

// words reads "of [a, b]".
func (r *reader) words() (all []string) {
	_, of := r.take("of")
	_, open := r.take("[")
	if !of || !open {
		r.fail("of [")
	}
	for r.err == nil {
		all = append(all, r.word()...)
		if _, ok := r.take(","); ok {
			continue
		}
		if _, ok := r.take("]"); !ok {
			r.fail("]")
		}
		return all
	}
	return all
}

// word reads one word, or a set of them.
func (r *reader) word() []string {
	w := r.next()
	set, isSet := strings.CutPrefix(w, "@")
	switch {
	case isSet && r.sets[set] != nil:
		return r.sets[set]
	case isSet || !regexp.MustCompile(`^[A-Za-z]\w*$`).MatchString(w):
		r.fail("a word in place of " + w)
	}
	return []string{w}
}

// compare tests a number against a number, or against another name's.
func (r *reader) compare(name string, k kind, op string) node {
	other := r.next()
	number, isNumeral := new(big.Rat).SetString(other)
	otherKind, known := r.kinds[other]
	if k != isNumber || !isNumeral && !(known && otherKind == isNumber) {
		r.fail("numbers in place of " + name + " and " + other)
	}
	return func(e env) truth {
		a, okA := e[name].(*big.Rat)
		b, okB := number, isNumeral
		if !isNumeral {
			b, okB = e[other].(*big.Rat)
		}
		if !okA || !okB {
			return maybe
		}
		return truthOf(holds(op, a.Cmp(b)))
	}
}

func holds(op string, order int) bool {
	switch op {
	case "==":
		return order == 0
	case "<":
		return order < 0
	case "<=":
		return order <= 0
	case ">":
		return order > 0
	}
	return order >= 0
}
