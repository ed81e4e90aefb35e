package browsertest

import (
	"encoding/json"
	"slices"
	"strings"

	"github.com/chromedp/cdproto/accessibility"
)

// Heard is one place of Chromium's own tree for screen readers: its role, and
// all that is read out of it.
type Heard struct{ Role, Text string }

// Announced returns the places of the page that a screen reader announces by
// itself when they change (WAI-ARIA 1.2, 6.6.3, "Live Region Attributes"), as
// they stand in Chromium's tree for screen readers.
func (b *Browser) Announced() []Heard {
	b.t.Helper()
	return b.heard(func(n *accessibility.Node) bool {
		return slices.ContainsFunc(n.Properties, func(p *accessibility.Property) bool {
			live := word(p.Value)
			return p.Name == "live" && (live == "polite" || live == "assertive")
		})
	})
}

// Headings returns the headings of that tree, in order.
func (b *Browser) Headings() []Heard {
	b.t.Helper()
	return b.heard(func(n *accessibility.Node) bool { return word(n.Role) == "heading" })
}

// heard finds the outermost places that are wanted.
func (b *Browser) heard(wanted func(n *accessibility.Node) bool) (out []Heard) {
	b.t.Helper()
	nodes := call(b, "read the tree for screen readers", accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{}).Nodes
	byID := map[accessibility.NodeID]*accessibility.Node{}
	for _, n := range nodes {
		byID[n.NodeID] = n
	}
	var text func(n *accessibility.Node, into *strings.Builder)
	text = func(n *accessibility.Node, into *strings.Builder) {
		if !n.Ignored && word(n.Role) == "StaticText" {
			into.WriteString(word(n.Name))
			return
		}
		for _, id := range n.ChildIDs {
			if child := byID[id]; child != nil {
				text(child, into)
			}
		}
	}
	var walk func(n *accessibility.Node)
	walk = func(n *accessibility.Node) {
		if !n.Ignored && wanted(n) {
			var all strings.Builder
			text(n, &all)
			out = append(out, Heard{word(n.Role), all.String()})
			return
		}
		for _, id := range n.ChildIDs {
			if child := byID[id]; child != nil {
				walk(child)
			}
		}
	}
	for _, n := range nodes {
		if byID[n.ParentID] == nil {
			walk(n)
		}
	}
	return out
}

// word is a value of the tree that is a text.
func word(v *accessibility.Value) (s string) {
	if v == nil {
		return ""
	}
	_ = json.Unmarshal(v.Value, &s) // numbers and the like are none
	return s
}
