package show

import (
	"crypto/hmac"
	"crypto/sha256"
	"strings"

	"evenhand/draw"
)

// Words are two words that belong to a ticket of a draw. Whoever has the key
// and whoever has the ticket's private page know them, so that a winner can
// show in the chat who they are. They are the first two bytes of HMAC-SHA-256
// (RFC 2104) over "winner's words", the draw and the ticket, each ended by a
// zero byte, each byte naming one of 256 words: a guess is right once in 65,536.
func Words(key [32]byte, id string, t draw.Ticket) string {
	mac := hmac.New(sha256.New, key[:])
	mac.Write([]byte("winner's words\x00" + id + "\x00" + t.String() + "\x00"))
	sum := mac.Sum(nil)
	return wordList[sum[0]] + " " + wordList[sum[1]]
}

// A Greeting is what the winner of a place says in the chat.
type Greeting struct {
	Label string `json:"label"` // the place: "First"
	Words string `json:"words"`
}

// Greetings are the words of the places that the picture shows; of all of them
// once what to do now is shown. They are for the remote alone.
func (f Facts) Greetings(st State, key [32]byte) (all []Greeting) {
	for i, p := range f.Places {
		if st.Step == First && i+1 != st.Place {
			continue
		}
		all = append(all, Greeting{capital(ordinal(i + 1)), Words(key, f.G.ID, p.Ticket)})
	}
	return all
}

// wordList is our own: 256 words for things that everybody knows and can spell.
var wordList = strings.Fields(`
	acorn alder almond amber anchor anvil apple apron arrow aspen attic autumn badger bagel bakery balcony bamboo
	banjo barley barn basil basket beach bean beaver lizard bell berry birch blanket blossom boat bonfire bottle
	boulder branch bread breeze brick bridge brook broom bucket button cabin cactus camel candle canoe canvas
	canyon carrot castle cedar cello chalk cheese cherry chestnut chimney cinnamon clay cliff clock cloud clover
	coast cocoa comet compass copper coral cottage cotton cradle crane creek crystal cup curtain daisy dawn circle
	dolphin drum duck eagle echo elm ember evening falcon farm feather fern ferry field fiddle finch flag flute
	forest fountain fox frost galaxy garden garlic gate ginger glacier glove goose grape gravel guitar hammer
	harbor hazel heather hedge heron hill honey horizon igloo island jacket jasmine jelly jigsaw juniper kayak
	kettle kite kitten ladder lagoon lake lamp lantern lavender lemon library lighthouse lilac lime linen lion
	magnet mango maple marble market meadow melon mint mirror mitten moon moss mountain muffin napkin nectar
	needle nest noodle nutmeg oak oasis ocean olive onion orange orchard otter oven owl paddle panda paper parade
	parrot pear pebble pencil pepper piano picnic pillow planet plum pocket poem pond poppy potato pumpkin puzzle
	quartz quilt quiver rabbit radish raft rain raven ribbon rice river robin rocket rose saddle sail salmon sand
	scarf shell silver sketch snow sparrow spoon spruce squirrel stone sugar summer swan tea thistle thunder tiger
	timber toast tomato tulip tunnel turnip turtle umbrella valley vanilla velvet village violin wagon walnut
	whistle willow window winter yarn zebra`)
